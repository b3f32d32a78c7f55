"""What each salon decides for itself. Published patch-test rules conflict, so this is a setting."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SalonRule:
    """The salon's own rules.

    An alert test counts from `alert_test_days_min` (it needs time to show; two days is common
    advice) to `alert_test_days_max` days after it was made (published advice runs from "every
    time" to "once a year"; insurers and leaflets decide, the default is only an example).
    """

    alert_test_days_min: int = 2
    alert_test_days_max: int = 120
    people: int = 1  # pairs of hands and basins, for "can I start chair three now"
    basins: int = 1
