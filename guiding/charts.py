"""Series and set-ups -> SVG for page and pack: presentation attributes only, text equivalents inside."""
