"""The parts of the whole carburetor on arrays: rows are operating points, columns carburetors. Joined by `carburetor`."""
