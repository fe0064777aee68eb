"""What can be typed."""
