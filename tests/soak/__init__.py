"""A server under mixed load while faults come and go; afterwards its records must equal a recount."""
