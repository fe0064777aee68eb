"""What was heard in one take: one file for each musical question."""
