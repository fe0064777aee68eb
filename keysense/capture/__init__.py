"""Listening: the piano's port, the journal of the day, and takes cut from it afterwards."""
