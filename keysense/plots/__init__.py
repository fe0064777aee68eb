"""Findings and contours drawn as pictures."""
