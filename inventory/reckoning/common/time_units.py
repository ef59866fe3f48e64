"""Average lengths of the Gregorian calendar's months and years."""

DAYS_PER_YEAR = 365.25
DAYS_PER_MONTH = DAYS_PER_YEAR / 12
