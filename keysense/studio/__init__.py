"""What is kept: pupils, pieces, takes, readings. The only room that speaks SQL."""
