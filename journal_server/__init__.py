"""The planting trial journal. Nearly empty, so that importing a part pulls in only that part."""

__version__ = "0.1.0"
