"""The course, the examination and the marking for apprentices who service carburetors."""

__version__ = "0.1.0"
