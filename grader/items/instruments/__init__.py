"""
The instruments a technician reads, drawn by code with the reading put in: one file an instrument, all of them in `catalog`.

The room knows scales and strokes. It knows no item, no answer and no mark; what a drawing looks like is said by `figures.css`.
"""
