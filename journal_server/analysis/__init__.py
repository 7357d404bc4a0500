"""Numbers of many photos: curves, bloom, fade, weather, tables. Pure: no Flask, SQL, clock or locale."""
