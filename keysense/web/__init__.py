"""Serves the pages on this machine and tells them what the piano does."""
