"""The register: an SQLite store of sittings, keys, marks and decisions, and the acts that need it."""
