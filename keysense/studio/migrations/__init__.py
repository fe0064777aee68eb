"""Where the tables of the studio came from, step by step."""
