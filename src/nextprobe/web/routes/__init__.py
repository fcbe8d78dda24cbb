"""The routes of the interface, one idea a file."""
