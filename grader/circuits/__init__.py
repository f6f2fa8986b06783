"""The physics, circuit by circuit, as relations. A module is named as its lesson."""
