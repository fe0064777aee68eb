"""keysense: listens to a digital piano in the lesson and shows what was heard. It never grades."""
