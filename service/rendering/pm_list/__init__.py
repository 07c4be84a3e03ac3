"""The PM list as JSON, CSV, calendar, HTML and text."""
