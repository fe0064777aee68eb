"""Findings said in words, for the teacher and for the child."""
