"""The static site: a small mkdocs plugin, practice packs and the page elements. Knows no mark, name or key."""
