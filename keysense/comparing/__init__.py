"""Two takes beside each other, characters and their wishes, and a pupil over weeks."""
