"""Use cases, and the Protocols that adapters fill."""
