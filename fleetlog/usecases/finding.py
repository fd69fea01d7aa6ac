"""Finds engines, boats, owners, rules, items and positions by what a person typed, and offers the nearest."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from operator import attrgetter
from typing import Any, TypeVar

from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.nearest import MISSPELT, nearest, nearest_numbers
from fleetlog.domain.records import Boat, Owner
from fleetlog.domain.satisfaction import Seen
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.words import ASSEMBLIES, name_key, same_name, with_position
from fleetlog.errors.naming import Ambiguous, NoSchedule, NotInSchedule, NotKnown, NotNamed, PositionNeeded
from fleetlog.store.reader import Reader

T = TypeVar("T")


def find_serial(reader: Reader, typed: str) -> str:
    """The serial typed, else the one that contains it, in any case; raises NotKnown or Ambiguous.

    An engine whose serial was corrected is found by its former one too, which is told, and one that alone
    ever stood on a boat by the boat's name.
    """
    refuse_empty("engine", typed)
    fragment = typed.strip()
    if reader.has_engine(fragment):  # looked up, where parts of serials are looked for in all of them
        return fragment
    matching = reader.serials_like(fragment)
    exact = [s for s in matching if name_key(s) == name_key(typed)]
    if len(exact) == 1:
        return exact[0]
    former = reader.former_serials()
    for was, serial in former.items():
        if name_key(was) == name_key(typed):
            reader.tell(f"the serial number {was} was corrected; the engine is {serial} now")
            return serial
    if len(matching) == 1:
        return matching[0]
    if matching:
        raise Ambiguous("engine", typed, matching)
    like = {was: serial for was, serial in former.items() if name_key(typed) in name_key(was)}
    if len(like) == 1:
        return find_serial(reader, *like)
    if like:
        raise Ambiguous("engine", typed, sorted(like))
    aboard = {s for boat_id in _keys_named(reader, "boats", typed) for s in reader.serials_of_boat(boat_id)}
    if len(aboard) == 1:
        return aboard.pop()
    if aboard:
        raise Ambiguous("engine", typed, sorted(aboard), "say one of them")
    raise NotKnown("engine", typed, nearest_numbers(typed, [*reader.serials(), *former]))


def refuse_empty(kind: str, typed: str) -> None:
    """Refuse a name that is empty, which would be in every other; raises NotNamed."""
    if not name_key(typed):
        raise NotNamed(kind)


def find_boat(reader: Reader, typed: str) -> Boat:
    """The one boat of that name or id, in any case, or whose name contains what was typed."""
    boat: Boat = _find_named(reader, "boat", typed)
    return boat


def find_owner(reader: Reader, typed: str) -> Owner:
    """The one owner of that name or id, in any case, or whose name contains what was typed."""
    owner: Owner = _find_named(reader, "owner", typed)
    return owner


def _find_named(reader: Reader, kind: str, typed: str) -> Any:
    rows = f"{kind}s"
    exact = reader.row(rows, typed)
    if exact is not None:  # looked up, where names are looked for in all of them
        return exact
    refuse_empty(kind, typed)
    found = _keys_named(reader, rows, typed)
    if len(found) == 1:
        return reader.row(rows, found[0])
    names = reader.names(rows)
    if found:
        fitting = [f"{names[key]} ({key})" for key in found]
        raise Ambiguous(kind, typed, fitting, "type more of it, or the id")
    raise NotKnown(kind, typed, nearest(typed, names.values()), f"fleetlog {kind} add adds a new one")


def _keys_named(reader: Reader, rows: str, typed: str) -> list[str]:
    """The key of that id in any case, else those of that name, else those whose name contains it."""
    names, wanted = reader.names(rows), name_key(typed)
    found = [key for key in names if name_key(key) == wanted]
    if len(found) == 1:
        return found
    keys = {key: name_key(name) for key, name in names.items()}
    return [k for k, name in keys.items() if name == wanted] or [
        k for k, name in keys.items() if wanted in name
    ]


Named = Callable[[T], tuple[str, str]]
"""Gives the id and the title of one of several."""


def find_all(kind: str, typed: str, known: Iterable[T], named: Named[T], how: str = "") -> list[T]:
    """The one of that id, in any case, else those of that title, else those whose id or title contains it.

    `how` says what to do where there is none. Raises NotNamed, NotKnown.
    """
    refuse_empty(kind, typed)
    wanted = name_key(typed)
    keyed = [(one, name_key(key), name_key(title)) for one in known for key, title in (named(one),)]
    fitting = (
        [one for one, key, _ in keyed if wanted == key]
        or [one for one, _, title in keyed if wanted == title]
        or [one for one, key, title in keyed if wanted in key or wanted in title]
    )
    if not fitting:
        raise NotKnown(kind, typed, nearest(typed, [named(one)[0] for one, _, _ in keyed]), how)
    return fitting


def find_one(kind: str, typed: str, known: Iterable[T], named: Named[T], how: str) -> T:
    """The one that `find_all` finds; raises Ambiguous where it finds several."""
    fitting = find_all(kind, typed, known, named, how)
    if len(fitting) > 1:
        raise Ambiguous(kind, typed, ["{} ({})".format(*named(one)) for one in fitting])
    return fitting[0]


def find_row(reader: Reader, kind: str, rows: str, row_id: str) -> Any:
    """The row of an id; raises NotKnown with the list that shows them."""
    found = reader.existing(rows, [row_id])
    if not found:
        raise NotKnown(kind, row_id, [], f"fleetlog {kind} list shows them")
    return found[row_id]


def find_schedule(reader: Reader, typed: str) -> Schedule:
    """The newest revision of the schedule of that name or title, or that has what was typed in it."""
    known, how = reader.schedules().values(), "fleetlog schedule list shows them"
    return find_one("schedule", typed, known, attrgetter("name", "title"), how)


_NAMES_OF_RULE: Named[Rule] = attrgetter("key", "title")


def find_rule(schedule: Schedule, typed: str) -> Rule:
    """The one rule that `find_rules` finds; raises Ambiguous where it finds several."""
    fitting = find_rules(schedule, typed)
    if len(fitting) > 1:
        raise Ambiguous("rule", typed, ["{} ({})".format(*_NAMES_OF_RULE(rule)) for rule in fitting])
    return fitting[0]


def find_rules(schedule: Schedule, typed: str) -> list[Rule]:
    """The rule of that key or title, in any case, or those whose key, title or item contains what was typed.

    Raises NotKnown where there is none; what is near is offered by the title, as lists print it.
    """
    refuse_empty("rule", typed)
    try:
        return find_all("rule", typed, schedule.rules, _NAMES_OF_RULE)
    except NotKnown:
        of_item = [rule for rule in schedule.rules if name_key(typed) in name_key(rule.item)]
        if of_item:
            return of_item
    titles = {
        word: rule.title
        for rule in schedule.rules
        for word in (*rule.item.split(), rule.item, rule.key, rule.title)
    }
    near = dict.fromkeys(titles[word] for word in nearest(typed, titles))
    if not near:
        raise NotInSchedule(typed, schedule.name)
    raise NotKnown("rule", typed, list(near))


def find_line(schedule: Schedule, typed: str) -> tuple[Rule, str | None]:
    """The rule as `find_rule` finds it, and the position where a due list's words for a line name one."""
    return line_in_words(schedule, typed) or (find_rule(schedule, typed), None)


def line_in_words(schedule: Schedule, typed: str) -> tuple[Rule, str] | None:
    """The rule and the position that a due list's words for a line name, if they name both."""
    for rule in schedule.rules:
        for position in rule.positions:
            if name_key(typed) == name_key(with_position(rule.title, position)):
                return rule, position
    return None


def schedule_of(ledger: EngineLedger, schedules: Mapping[str, Schedule]) -> Schedule | None:
    """The service schedule that an engine follows, where the log has it."""
    name = ledger.engine.schedule_name
    return None if name is None else schedules.get(name)


def needed_schedule(ledger: EngineLedger, schedules: Mapping[str, Schedule]) -> Schedule:
    """The service schedule that an engine follows; raises NoSchedule where the log has none for it."""
    schedule = schedule_of(ledger, schedules)
    if schedule is None:
        raise NoSchedule(ledger.engine.serial, ledger.engine.schedule_name, sorted(schedules))
    return schedule


_NEW_ITEM = "say --new-item if it is a kind of its own"


def find_item(seen: Seen, schedule: Schedule | None, typed: str, *, is_new_kind: bool) -> str:
    """The kind of item in the spelling of the schedule, of the engine's own entries, or an assembly.

    A kind that neither knows is refused, with the nearest offered, unless it is said to be new.
    """
    refuse_empty("item", typed)
    known: dict[str, str] = {}
    for entries in seen.by_item.values():
        known.setdefault(name_key(entries[0].item or ""), entries[0].item or "")
    if schedule is not None:
        known.update({name_key(item): item for item in schedule.items()})
    if name_key(typed) in known:
        return known[name_key(typed)]
    for assembly in ASSEMBLIES:  # before what has its name in it, such as its gasket
        if same_name(assembly, typed):
            return assembly
    if is_new_kind or (schedule is None and not known):
        return typed.strip()
    matching = [item for key, item in known.items() if name_key(typed) in key]
    if len(matching) == 1:
        return matching[0]
    if len(matching) > 1:
        raise Ambiguous("item", typed, matching)
    raise NotKnown("item", typed, nearest(typed, known.values()), _NEW_ITEM)


def find_measured(ledger: EngineLedger, schedule: Schedule | None, typed: str, *, is_new_kind: bool) -> str:
    """What was measured, in the spelling of the schedule or of what is on record of the engine.

    A name of its own is free; one so like a known one that it may be meant for it is refused, with that
    offered, unless it is said to be new.
    """
    said = [e.item for e in ledger.entries if e.item] + [m.item for m in ledger.evidence.measurements]
    known = {name_key(item): item for item in said}
    if schedule is not None:
        known.update({name_key(item): item for item in schedule.items()})
    if name_key(typed) in known:
        return known[name_key(typed)]
    near = [] if is_new_kind else nearest(typed, known.values(), likeness=MISSPELT)
    if near:
        raise NotKnown("item", typed, near, _NEW_ITEM)
    return typed.strip()


ALL_POSITIONS = "all"


def find_position(schedule: Schedule | None, item: str, typed: str | None) -> str | None:
    """The position in the schedule's spelling; None for all of them or for an item without places.

    Raises PositionNeeded where the item has several and none is given, NotNamed for an empty one, NotKnown
    for one that it has not.
    """
    places: Sequence[str] = schedule.positions_of(item) if schedule is not None else []
    if typed is None:
        if len(places) > 1:
            raise PositionNeeded(item, places)
        return places[0] if places else None
    refuse_empty(f"position of the {item}", typed)
    if same_name(typed, ALL_POSITIONS):
        return None
    return _spelled(item, typed, places)


def _spelled(item: str, typed: str, places: Iterable[str]) -> str:
    known = {name_key(p): p for p in places}
    if not known:
        return typed.strip()
    if name_key(typed) in known:
        return known[name_key(typed)]
    raise NotKnown(f"position of the {item}", typed, list(known.values()))
