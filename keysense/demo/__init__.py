"""An invented studio to try keysense on, played through the real way from journal to page."""
