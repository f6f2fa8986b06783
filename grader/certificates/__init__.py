"""Certificates: signed, checked offline, revoked by a status list (Open Badges 3.0). Knows no trade, mark, clock or network."""
