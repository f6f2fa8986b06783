"""Certificates: signed, checked offline, revoked by a status list. Open Badges 3.0 on W3C Verifiable Credentials."""
