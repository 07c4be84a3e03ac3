"""Every state that a power cut may leave of a database must open, whole, with every visit that was acknowledged."""
