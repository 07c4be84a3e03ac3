"""Worker processes of the server: what takes long is computed there, and holds up no thread of the server."""
