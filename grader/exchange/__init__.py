"""Open forms in and out: QTI 3.0, CSV, Parquet. Knows how others write a question or a mark; files of ours it only reads."""
