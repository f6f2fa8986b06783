"""Papers and answer sheets: assembled from a blueprint, drawn for each candidate, set as PDF and HTML."""
