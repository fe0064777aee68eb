"""One file for each question a teacher asks; each arranges a page and computes nothing."""
