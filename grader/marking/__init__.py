"""Marks one answer file against one key: no bank, no physics, no unit library, no clock, no chance."""
