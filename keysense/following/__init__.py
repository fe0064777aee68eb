"""Following: the played notes set beside the notes of the target, through slips, restarts and skips."""
