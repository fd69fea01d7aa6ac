"""A log that is open: one transaction a block, for reading or for writing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from sqlalchemy import Engine, RootTransaction
from sqlalchemy.exc import DBAPIError

from fleetlog.errors import first_of
from fleetlog.errors.log import (
    ConnectionLost,
    LogBusy,
    LogDamaged,
    LogDiskFull,
    LogFolderNotWritable,
    LogNotWritten,
    LogOutOfReach,
    LogReadOnly,
    LogUnreadable,
    LostRace,
    OutcomeUnknown,
    RecordedAndNotReadAgain,
    ServerFailed,
)
from fleetlog.store.connecting import begin_to_write, connect, for_reading, left_alone
from fleetlog.store.failures import is_cut_off, refusing
from fleetlog.store.place import Place
from fleetlog.store.reader import Reader

if TYPE_CHECKING:
    from fleetlog.store.begun import BegunFile
    from fleetlog.store.chain.check import ChainReport
    from fleetlog.store.copying import Copied
    from fleetlog.store.kept.fits import KeptFit
    from fleetlog.store.kept.lines import KeptRows, Seen
    from fleetlog.store.once import Once
    from fleetlog.store.papers import PaperFolder
    from fleetlog.store.writer import Writer

_TRIPPED = (LookupError, ValueError, ArithmeticError, TypeError, AttributeError, AssertionError)
"""What a program raises that meets values of a kind it does not expect."""

_NOT_NOW = (LogBusy, LogReadOnly, LogDiskFull, LogNotWritten, LogFolderNotWritable, LostRace)


class Log:
    """An open log. `notices` says what opening it did and what was looked up, in sentences for the person.

    One that is `begun` is in its place, and says so, after the first writing that is kept.
    """

    def __init__(
        self,
        place: Place,
        engine: Engine,
        notices: list[str],
        papers: Path | None = None,
        begun: BegunFile | None = None,
    ) -> None:
        self.place = place
        self.notices = notices
        self._papers = papers
        self._begun = begun
        self._speak_to(engine)
        self.when_written: Callable[[Writer, list[str]], None] | None = None
        """Called at the end of each writing that bears on due lines, within it, with the engines' serials."""
        self.written_no: int | None = None
        """The number of the first writing that was kept since the log was opened."""
        self.handed_over = False
        """Whether a writing was handed over to be kept since the log was opened, whatever came of it."""
        self.once: Once | None = None
        """The key that the next writing uses up: under one key something is recorded once."""
        self._waited_in_vain = False
        self._confirming = False

    def _speak_to(self, engine: Engine) -> None:
        self._engine, self._reading = engine, for_reading(engine)
        self._left_alone = left_alone(self.place)

    @property
    def papers(self) -> PaperFolder:
        """The folder of its photos and papers; of a log in a file it is beside it unless said otherwise."""
        from fleetlog.store.papers import PaperFolder, folder_beside

        if self._begun is not None:
            return PaperFolder(self._begun.papers, self.place.shown)
        beside = None if self.place.path is None else folder_beside(self.place.path)
        return PaperFolder(self._papers or beside, self.place.shown)

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """A block that sees one state of the log throughout.

        Raises RecordedAndNotReadAgain where the database fails and something was recorded since the log was
        opened, so that nobody takes it for not recorded.
        """
        with (
            self._recorded_told(),
            self._damage_told(),
            refusing(self.place),
            self._left_alone(),
            self._reading.connect() as connection,
            connection.begin(),
        ):
            reader = Reader(connection)
            reader.notices = self.notices
            yield reader
        if reader.to_keep:
            self.keep(reader.to_keep)

    @contextmanager
    def _recorded_told(self) -> Iterator[None]:
        try:
            yield
        except (LogOutOfReach, ServerFailed, LogBusy, LogUnreadable, LogNotWritten) as error:
            if self.written_no is None:
                raise
            raise RecordedAndNotReadAgain(error) from error

    @contextmanager
    def _damage_told(self) -> Iterator[None]:
        """A block that trips over rows as nobody wrote them raises LogDamaged; else what it raised.

        It is looked for once the block's transaction is over: rows that a writing left half are no damage.
        """
        try:
            yield
        except _TRIPPED as error:
            damaged = self.damage_behind(error)
            if damaged is None:
                raise
            raise damaged from error

    def damage_behind(self, error: Exception) -> LogDamaged | None:
        """The damage of the log that may have tripped up who reads it; None where there is none."""
        is_of_what_was_given = isinstance(error, UnicodeEncodeError)
        if is_of_what_was_given or not isinstance(error, _TRIPPED):
            return None
        with refusing(self.place), self._reading.connect() as connection, connection.begin():
            reader = Reader(connection)
            found = reader.damage() or reader.misplaced_kinds()
            found = found or [fault.text for fault in reader.check_chains().faults]
        return LogDamaged(self.place.shown, first_of(found)) if found else None

    def keep(
        self,
        fits: Iterable[KeptFit] = (),
        engines: Sequence[KeptRows] = (),
        seen: Mapping[str, Seen] = MappingProxyType({}),
    ) -> int:
        """Keeps what was worked out from what a reader saw; gives how many engines' lines were kept.

        It is for speed only: a log that cannot take it now (busy, full, read-only) does without, and one that
        was busy for as long as a person waits is not waited for again.
        """
        if self._waited_in_vain:
            return 0
        try:
            return self.keep_or_refuse(fits, engines, seen)
        except LogBusy:
            self._waited_in_vain = True
            return 0
        except _NOT_NOW:
            return 0

    def keep_or_refuse(
        self, fits: Iterable[KeptFit], engines: Sequence[KeptRows], seen: Mapping[str, Seen]
    ) -> int:
        """The same for a person who asked for just that: raises what kept the log from taking it."""
        from fleetlog.store.kept.fits import keep_fit
        from fleetlog.store.kept.lines import keep_engines

        with (
            refusing(self.place),
            self._engine.connect() as connection,
            begin_to_write(connection),
        ):
            for fit in fits:
                keep_fit(connection, fit)
            kept = keep_engines(connection, engines, seen) if engines else 0
        return kept

    @contextmanager
    def writing(self, by: str, at: datetime) -> Iterator[Writer]:
        """A block whose writes are kept together when it ends, or not at all when it is left by an error.

        `by` is the person and `at` the moment, in UTC, that every row written is stamped with. Raises
        LogBusy where another program writes for longer than 30 seconds, LostRace where others came first and
        the block may be done again, and ConnectionLost where the connection broke before it was handed over,
        AlreadyRecorded or KeyOfAnother where the key of `once` was used before.
        """
        from fleetlog.store.once import refuse_used, use_key
        from fleetlog.store.writer import Writer  # with all of the chains: too much for a look-up

        with (
            self._damage_told(),
            refusing(self.place),
            self._engine.connect() as connection,
            self._cut_off_told(),
            begin_to_write(connection) as transaction,
        ):
            if self.once is not None:
                refuse_used(connection, self.once)
            writer = Writer(connection, by, at)
            writer.notices = self.notices
            yield writer
            written_to = writer.mark_touched()
            if written_to and self.when_written is not None:
                self.when_written(writer, written_to)
            writer.seal()
            if self.once is not None and writer.sealed_no is not None:
                use_key(connection, self.once, writer.sealed_no)
            self._confirm(transaction, writer.sealed_no)
        if writer.sealed_no is not None:
            self.put_in_place()
        self.written_no = self.written_no or writer.sealed_no
        self.once = None

    @contextmanager
    def _cut_off_told(self) -> Iterator[None]:
        """A block of a writing: with its connection all of it is gone, until it is handed over."""
        self._confirming = False
        try:
            yield
        except DBAPIError as error:
            if self._confirming or not is_cut_off(error):
                raise
            raise ConnectionLost(self.place.shown) from error

    def _confirm(self, transaction: RootTransaction, writing_no: int | None) -> None:
        """Commits. Where the connection breaks meanwhile, the log says whether the writing was kept."""
        self._confirming = True
        self.handed_over = self.handed_over or writing_no is not None
        try:
            transaction.commit()
        except DBAPIError as error:
            if not error.connection_invalidated or writing_no is None:
                raise
            from fleetlog.store.once import was_kept

            kept = was_kept(self._engine, writing_no)
            if kept is None:
                raise OutcomeUnknown(self.place.shown) from error
            if not kept:
                raise ConnectionLost(self.place.shown) from error

    def put_in_place(self) -> None:
        """Moves a log that is only begun to its place, as its first writing does.

        Raises LostRace where another is there by now: then this one is gone, and the other is spoken to.
        """
        if self._begun is None:
            return
        begun, self._begun = self._begun, None
        self._engine.dispose()
        try:
            begun.put_in_place()
        except FileExistsError:
            raise LostRace(self.place.shown) from None
        finally:
            self._speak_to(connect(self.place))
        self.notices.append(made_notice(self.place))

    def copy_into(self, target: Log) -> tuple[Copied, ChainReport]:
        """Copies all that this log holds at one moment into an empty one, all or nothing, papers too.

        The rows are compared with each other, and the copy's with its chains; papers that are missing or
        altered here are told. Raises CopyNeedsEmptyLog, CopyDiffers, PapersFolderUnknown.
        """
        from fleetlog.store.copying import copy_tables

        with (
            refusing(self.place),
            self._reading.connect() as source,
            source.begin(),
            refusing(target.place),
            target._engine.connect() as connection,
            begin_to_write(connection),
        ):
            copied, chains = copy_tables(source, connection, target.place.shown)
            papers = Reader(source).kept_papers()
            if papers:
                _, faults = target.papers.take_from(self.papers, papers)
                copied.paper_faults += [fault.text for fault in faults]
        target.put_in_place()
        return copied, chains

    def sweep(self) -> None:
        """Rewrites the log so that nothing erased is left in unused parts of it; a notice says what hinders.

        What was erased is gone from the rows by then, whatever comes of this.
        """
        from fleetlog.store.forgetting import sweep_pages

        try:
            with refusing(self.place):
                swept = sweep_pages(self._engine)
        except (*_NOT_NOW, LogOutOfReach, ServerFailed):
            swept = False
        if not swept:
            self.notices.append(
                f"this is erased, but may be left in unused parts of {self.place.shown}, as others had it"
                " open or there was no room to write it anew: erase it again, by its id, once it is closed"
            )

    def dispose(self) -> None:
        """Closes the log; one that was begun and not written to is gone."""
        self._engine.dispose()
        if self._begun is not None:
            self._begun.remove()


def made_notice(place: Place) -> str:
    """Says that a log was made."""
    return f"A new log was made: {place.shown}"
