"""Every step from an older database to today's."""
