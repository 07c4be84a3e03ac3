"""Import and export: lines of files to records and back."""
