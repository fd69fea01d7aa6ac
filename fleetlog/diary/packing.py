"""A day's visits laid out, each with one technician in one place from a time, nothing used twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache, reduce
from operator import or_

from fleetlog.diary.shop import BookedVisit, Shop, VisitRequest

SEARCH_NODES = 600
"""How many partial layouts of one day are tried before it is given up as too full."""
PROMISED_NODES = 100_000
"""The same where a quick exact test says that there is a layout."""


@dataclass(frozen=True, slots=True)
class Slot:
    """Where and when a visit is: indices of place and technician, tenths of an hour since midnight."""

    visit: int
    place: int
    technician: int
    from_tenths: int


Busy = list[tuple[int, int]]


class DayPacker:
    """Lays out sets of visits on one day around what is booked; answers are remembered.

    The search is exact for one or two like places with as many like technicians; beyond that it gives up
    after `SEARCH_NODES`, so that a set it refuses may still have a layout (a set it lays out has one).
    """

    def __init__(
        self, requests: Sequence[VisitRequest], booked: Sequence[BookedVisit], shop: Shop, day: date
    ) -> None:
        self._requests = requests
        self._places = [(place, span) for place in shop.places if (span := shop.place_time(place, day))]
        self._technicians = [
            (technician, span)
            for technician in shop.technicians
            if (span := shop.technician_time(technician, day))
        ]
        self._place_names = [place.name for place, _ in self._places]
        self._technician_names = [technician.name for technician, _ in self._technicians]
        self._lifts_left = (
            None
            if shop.lifts_per_day is None
            else shop.lifts_per_day - sum(b.lifts for b in booked if b.on == day)
        )
        self._booked = [visit for visit in booked if visit.on == day]
        self._pairs = [
            [
                (place, technician)
                for place, (its_place, opens) in enumerate(self._places)
                for technician, (person, works) in enumerate(self._technicians)
                if its_place.kind in request.place_kinds
                and person.skills >= request.skills
                and opens.common_tenths(works) >= request.tenths
            ]
            for request in requests
        ]
        self._kinds, self._kind_of = _kinds(requests)
        self._common_time = self._common_times()
        self._pairs_of_kind = [
            [
                (place, technician)
                for place, technician in self._common_time
                if self._places[place][0].kind in place_kinds
                and self._technicians[technician][0].skills >= skills
            ]
            for place_kinds, skills in self._kinds
        ]
        self._booked_masks = self._masks_of_booked()
        self._even_tenths = self._length_of_even_lanes()
        self._known: dict[frozenset[int], tuple[Slot, ...] | None] = {}

    def names(self, slot: Slot) -> tuple[str, str]:
        """The names of a slot's place and technician."""
        return self._place_names[slot.place], self._technician_names[slot.technician]

    def kind_of(self, visit: int) -> int:
        """The number of the visit's kind; visits of one kind ask for the same places and skills."""
        return self._kind_of[visit]

    def rooms(self, visits: Sequence[int], gone: Sequence[int]) -> list[int]:
        """With some of the day's visits gone, the tenths that one more visit of each kind surely has.

        Other visits of the day may have to be put elsewhere on it only where it has two like lanes. What a
        visit's boat does at the same time is left out of account.
        """
        stay = [visit for visit in visits if visit not in gone]
        if self.even_lane_tenths(visits):
            return [self._room_of_even_lanes(stay)] * len(self._kinds)
        places, technicians = list(self._booked_masks[0]), list(self._booked_masks[1])
        for slot in self.layout(visits) or ():
            if slot.visit not in gone:
                mask = _mask(slot.from_tenths, slot.from_tenths + self._requests[slot.visit].tenths)
                places[slot.place] |= mask
                technicians[slot.technician] |= mask
        longest = {
            pair: _longest_run(both & ~(places[pair[0]] | technicians[pair[1]]))
            for pair, both in self._common_time.items()
        }
        return [max((longest[pair] for pair in pairs), default=0) for pairs in self._pairs_of_kind]

    def lanes(self, *, of_places: bool) -> list[tuple[int, frozenset[int]]]:
        """For each technician (or place) of the day the tenths not booked, and the kinds that suit."""
        members = self._places if of_places else self._technicians
        booked = self._booked_masks[0 if of_places else 1]
        found = []
        for number, (_, span) in enumerate(members):
            free = (_mask(span.from_tenths, span.to_tenths) & ~booked[number]).bit_count()
            suited = frozenset(
                kind
                for kind, pairs in enumerate(self._pairs_of_kind)
                if any(pair[0 if of_places else 1] == number for pair in pairs)
            )
            found.append((free, suited))
        return found

    def _common_times(self) -> dict[tuple[int, int], int]:
        """Of each place and technician the tenths of the day at which both are there, one bit each."""
        return {
            (place, technician): _mask(opens.from_tenths, opens.to_tenths)
            & _mask(works.from_tenths, works.to_tenths)
            for place, (_, opens) in enumerate(self._places)
            for technician, (_, works) in enumerate(self._technicians)
        }

    def _masks_of_booked(self) -> tuple[list[int], list[int]]:
        """When each place and each technician is booked, one bit a tenth of an hour."""
        places, technicians, _ = self._busy_of_booked()
        return (
            [reduce(or_, (_mask(*stretch) for stretch in busy), 0) for busy in places],
            [reduce(or_, (_mask(*stretch) for stretch in busy), 0) for busy in technicians],
        )

    def even_lane_tenths(self, visits: Sequence[int]) -> int | None:
        """The length of the day's two like lanes, where it has them and they suit all these visits alike."""
        if self._even_tenths is None or not (self._all_plain or all(self._plain[v] for v in visits)):
            return None
        return self._even_tenths

    def fits(self, visits: Sequence[int]) -> bool:
        """Is there a layout for these visits (as far as the search goes)?"""
        if self.even_lane_tenths(visits):
            return self._fits_two_even_lanes(visits)
        return self.layout(visits) is not None

    def layout(self, visits: Sequence[int]) -> tuple[Slot, ...] | None:
        """A layout of these visits, or None where none was found."""
        key = frozenset(visits)
        if key not in self._known:
            self._known[key] = self._search(sorted(key))
        return self._known[key]

    def _length_of_even_lanes(self) -> int | None:
        """The common length where the day is two like places with two technicians, free all day."""
        spans = {(span.from_tenths, span.to_tenths) for _, span in (*self._places, *self._technicians)}
        if len(self._places) != 2 or len(self._technicians) != 2 or len(spans) != 1 or self._booked:
            return None
        counts = Counter(request.boat_id for request in self._requests)
        self._plain = [
            len(pairs) == 4
            and counts[request.boat_id] == 1
            and (self._lifts_left is None or request.lifts == 0)
            for pairs, request in zip(self._pairs, self._requests, strict=True)
        ]
        self._all_plain = all(self._plain)
        start, end = next(iter(spans))
        return end - start

    def _sums_of(self, visits: Sequence[int]) -> tuple[int, int]:
        """The tenths that some of the visits can come to, bit n being set for n of them; and those of all."""
        sums, total = 1, 0
        for visit in visits:
            tenths = self._requests[visit].tenths
            sums |= sums << tenths
            total += tenths
        return sums, total

    def _fits_two_even_lanes(self, visits: Sequence[int]) -> bool:
        """Whether some of the visits fit into one lane and the others into the other."""
        assert self._even_tenths is not None
        sums, total = self._sums_of(visits)
        low = total - self._even_tenths
        if low > self._even_tenths:
            return False
        low = max(0, low)
        return (sums >> low) & ((1 << (self._even_tenths - low + 1)) - 1) != 0

    def _room_of_even_lanes(self, visits: Sequence[int]) -> int:
        """The longest visit that can be added where the lanes may be filled anew with those that stay."""
        assert self._even_tenths is not None
        sums, total = self._sums_of(visits)
        low = max(0, total - self._even_tenths)
        above = sums >> low
        return self._even_tenths - low - ((above & -above).bit_length() - 1)

    def _search(self, visits: list[int]) -> tuple[Slot, ...] | None:
        requests = self._requests
        if self._lifts_left is not None and sum(requests[v].lifts for v in visits) > self._lifts_left:
            return None
        order = sorted(visits, key=lambda v: (len(self._pairs[v]), -requests[v].tenths, v))
        nodes = PROMISED_NODES if self.even_lane_tenths(visits) else SEARCH_NODES
        for paired in (True, False):
            slots: list[Slot] = []
            self._nodes = nodes
            busy = self._busy_of_booked()
            if self._place_next(order, 0, slots, busy, paired):
                return tuple(slots)
        return None

    def _busy_of_booked(self) -> tuple[list[Busy], list[Busy], dict[str, Busy]]:
        places: list[Busy] = [[] for _ in self._places]
        technicians: list[Busy] = [[] for _ in self._technicians]
        boats: dict[str, Busy] = {}
        for visit in self._booked:
            stretch = (visit.from_tenths, visit.from_tenths + visit.tenths)
            if visit.place in self._place_names:
                places[self._place_names.index(visit.place)].append(stretch)
            if visit.technician in self._technician_names:
                technicians[self._technician_names.index(visit.technician)].append(stretch)
            boats.setdefault(visit.boat_id, []).append(stretch)
        return places, technicians, boats

    def _place_next(
        self,
        order: list[int],
        depth: int,
        slots: list[Slot],
        busy: tuple[list[Busy], list[Busy], dict[str, Busy]],
        paired: bool,
    ) -> bool:
        """Depth first; `paired` keeps each technician to the place of the same number, often enough."""
        if depth == len(order):
            return True
        visit = order[depth]
        request = self._requests[visit]
        places, technicians, boats = busy
        boat = boats.setdefault(request.boat_id, [])
        seen = set()
        options = []
        for place, technician in self._pairs[visit]:
            if paired and place % len(self._technicians) != technician:
                continue
            opens, works = self._places[place][1], self._technicians[technician][1]
            start = _earliest(
                max(opens.from_tenths, works.from_tenths),
                min(opens.to_tenths, works.to_tenths),
                request.tenths,
                places[place],
                technicians[technician],
                boat,
            )
            if start is None:
                continue
            alike = (
                self._places[place][0].kind,
                opens,
                tuple(places[place]),
                self._technicians[technician][0].skills,
                works,
                tuple(technicians[technician]),
            )
            if alike not in seen:
                seen.add(alike)
                options.append((start, len(self._technicians[technician][0].skills), place, technician))
        for start, _, place, technician in sorted(options):
            if self._nodes <= 0:
                return False
            self._nodes -= 1
            stretch = (start, start + request.tenths)
            for held in (places[place], technicians[technician], boat):
                held.append(stretch)
            slots.append(Slot(visit, place, technician, start))
            if self._place_next(order, depth + 1, slots, busy, paired):
                return True
            slots.pop()
            for held in (places[place], technicians[technician], boat):
                held.pop()
        return False


def _kinds(
    requests: Sequence[VisitRequest],
) -> tuple[list[tuple[frozenset[str], frozenset[str]]], list[int]]:
    """The different (place kinds, skills) that are asked for, and which of them each request asks for."""
    asked = [(request.place_kinds, request.skills) for request in requests]
    kinds = list(dict.fromkeys(asked))
    return kinds, [kinds.index(kind) for kind in asked]


def _mask(from_tenths: int, to_tenths: int) -> int:
    """A stretch of the day with one bit set for each tenth of an hour."""
    return ((1 << max(0, to_tenths - from_tenths)) - 1) << from_tenths


@lru_cache(maxsize=65_536)
def _longest_run(mask: int) -> int:
    """The length of the longest run of bits that are set."""
    length = 0
    while mask:
        mask &= mask >> 1
        length += 1
    return length


def _earliest(opens: int, closes: int, tenths: int, *busy: Busy) -> int | None:
    """The earliest start at which the stretch is free of everything busy and ends in time."""
    start = opens
    moved = True
    while moved:
        moved = False
        for stretches in busy:
            for begins, ends in stretches:
                if begins < start + tenths and start < ends:
                    start = ends
                    moved = True
        if start + tenths > closes:
            return None
    return start
