"""Things to look at today: hints derived from a trial's records, each with its evidence. Pure: no SQL, clock or locale.

What a person saw on a visit is a finding; what is derived here is only a thing to look at.
"""
