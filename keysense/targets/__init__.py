"""Scores, MIDI files and model takes, all read into one `Target`."""
