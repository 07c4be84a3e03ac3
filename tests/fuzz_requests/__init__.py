"""Generated requests to the whole API, from its published document.

`python -m tests.fuzz_requests --requests 50000` runs long; a short form is in the ordinary tests.
"""
