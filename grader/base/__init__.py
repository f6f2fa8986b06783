"""What every room stands on: errors, findings, quantities, files, canonical bytes, codes. Knows nothing of the course."""
