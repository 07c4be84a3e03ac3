"""The customer's and the fleet's year as JSON, CSV, XLSX and PDF."""
