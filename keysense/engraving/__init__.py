"""The engraved staff, and where each notehead stands on it."""
