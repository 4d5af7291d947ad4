"""Series and set-ups -> SVG for page and pack: presentation attributes, text inside."""
