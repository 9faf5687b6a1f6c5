"""The switches of the sheet: what they may say, and the cookies that keep it on a device."""

MOOD_COOKIE, GLOVES_COOKIE = "mood", "gloves"
MOODS = ("day", "night", "system")
