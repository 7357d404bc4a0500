"""Numbers in, SVG text out. Deterministic, without scripts, styled by attributes and ``currentColor``."""
