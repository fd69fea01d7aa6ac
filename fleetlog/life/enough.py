"""How much evidence an answer on lives wants; apart from the fits, so that asking loads no statistics."""

FEWEST_FAILURES = 3
"""Below this no two-parameter fit is given (own rule; handbooks name 3 to 20 as the fewest)."""

FIRM_FAILURES = 10
"""From this many failures on, and with B10 known within FIRM_SPREAD, an answer is called firm (own rule)."""

FIRM_SPREAD = 3.0
