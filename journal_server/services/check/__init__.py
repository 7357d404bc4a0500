"""Looks a journal over from end to end, changes nothing, says what is wrong and how to mend it."""
