"""Names that people type and programs stumble over."""

from __future__ import annotations

HOSTILE_NAMES = (
    'Plum "Gaslight" & O\'Neil',
    "Grüner Größenwahn",
    "شتلة بيتونيا 3",
    "Sunny 🌼🌻",
    '<img src=x onerror="window.brokenIn=1">',
    '=HYPERLINK("http://evil.example","x")',
    "@SUM(A1)",
    "-2+3+cmd|' /C calc'!A0",
    "*bold* _thin_ [link](http://evil.example) `code` | cell",
    "1. of May",
    "x" * 200,
)
"""Each is at most 200 characters, as long as a name may be."""
