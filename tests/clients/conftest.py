"""What is no test: a program that needs the generated client."""

collect_ignore = ["day.py"]
