"""The course as files: lessons, banks, blueprints, rosters; their checks; and the variants drawn from them."""
