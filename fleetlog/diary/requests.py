"""From a bundle to a visit that can be put on a day: its stakes, skills, place, lifts, parts and wishes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from fleetlog.diary.bundles import LAY_UP_NEAR_DAYS, Bundle, BundleLine
from fleetlog.diary.shop import BAY, Risk, VisitRequest, Wishes
from fleetlog.domain.gravity import speaks_of_gravity
from fleetlog.domain.words import BEFORE_LAY_UP, NEXT_ACCESS, NO_RECORD, OVERDUE, name_key

USUAL_CONSEQUENCE_POINTS = 20

WORTH_TENTHS = 10
"""What work before a lay-up is worth at least, in tenths of an hour: too early, it is to be done again."""


@dataclass(frozen=True, slots=True)
class RequestTerms:
    """What the shop's own tables say of jobs; words are compared without case, as keys by `name_key`.

    `consequence_points`: by the schedule's word for what a failure costs, the points of a day overdue;
    other words take `usual_points`, those of a grave consequence the most that any word has.
    `skills_by_item` and `places_by_access`: what a job needs, where it is not what every technician can do
    or not done in a bay. `lifts` is what a visit takes unless it is done afloat.
    """

    consequence_points: Mapping[str, int] = field(default_factory=dict)
    usual_points: int = USUAL_CONSEQUENCE_POINTS
    skills_by_item: Mapping[str, frozenset[str]] = field(default_factory=dict)
    places_by_access: Mapping[str | None, frozenset[str]] = field(default_factory=dict)
    lifts: int = 0

    def points(self, consequence: str | None) -> int:
        """What a day overdue weighs, by what a failure costs."""
        named = self.consequence_points.get(name_key(consequence or ""))
        if named is None and speaks_of_gravity(consequence):
            return max([self.usual_points, *self.consequence_points.values()])
        return self.usual_points if named is None else named

    def skills(self, item: str) -> frozenset[str]:
        """What a technician must be able to do for a job on an item."""
        return self.skills_by_item.get(name_key(item), frozenset())

    def place_kinds(self, access: str | None) -> frozenset[str]:
        """Where a job behind an access can be done."""
        return self.places_by_access.get(access and name_key(access), frozenset({BAY}))


def request_visit(
    bundle: Bundle,
    today: date,
    terms: RequestTerms,
    wishes: Wishes | None,
    parts_on: date | None,
    previous_on: date | None,
) -> VisitRequest:
    """The visit that a bundle asks for. Only places that suit every job of it will do."""
    skills: frozenset[str] = frozenset()
    places: frozenset[str] | None = None
    for line in bundle.lines:
        skills |= terms.skills(line.work.item)
        kinds = terms.place_kinds(line.work.access)
        places = kinds if places is None else places & kinds
    place_kinds = places or frozenset({BAY})
    return VisitRequest(
        visit_id=bundle.bundle_id,
        boat_id=bundle.boat_id,
        owner_id=bundle.owner_id,
        tenths=bundle.labour_tenths,
        risks=tuple(risk_of(line, today, terms) for line in bundle.lines),
        skills=skills,
        place_kinds=place_kinds,
        lifts=terms.lifts if place_kinds == {BAY} else 0,
        wishes=wishes or Wishes(),
        parts_on=parts_on,
        previous_on=previous_on,
    )


def risk_of(line: BundleLine, today: date, terms: RequestTerms) -> Risk:
    """What is at stake with a line. Work before a lay-up is wasted where it is done long before."""
    work = line.work
    weight = terms.points(work.consequence)
    if work.state == NEXT_ACCESS:
        return Risk(0)
    if work.state == NO_RECORD or (work.state == OVERDUE and work.expected_on is None):
        return Risk(weight, due_on=today)
    is_for_lay_up = work.season == BEFORE_LAY_UP
    return Risk(
        weight=weight,
        due_on=work.due_on,
        early_on=work.early_on,
        likely_on=work.likely_on,
        late_on=work.late_on,
        interval_days=LAY_UP_NEAR_DAYS if is_for_lay_up else work.interval_days,
        value_tenths=max(work.labour_tenths, WORTH_TENTHS) if is_for_lay_up else work.labour_tenths,
    )
