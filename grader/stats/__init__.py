"""What a table of marks says about persons and questions: matrices in, numbers out. Knows no paper, name or file."""
