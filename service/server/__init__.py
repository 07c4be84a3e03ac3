"""The HTTP server: asyncio and h11 in front, the WSGI application on threads of the same process.

A request passes `connection` (reads and answers), `head` (checks its bytes), `gateway` (calls the application).
"""
