"""The yearly summary's figures against a second count, in plain Python, of the exported records."""
