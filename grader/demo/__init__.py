"""The demonstration: an invented class that sits a real paper."""
