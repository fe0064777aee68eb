"""``python -m keysense``."""

from keysense.cli import main

if __name__ == "__main__":
    main()
