"""What people read after a sitting: results, feedback, the examiner's report."""
