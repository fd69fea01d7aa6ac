"""Refusals of mail."""

from __future__ import annotations

from pathlib import Path

from fleetlog.errors import FleetlogError


class MailNotSetUp(FleetlogError):
    """Mails are to be written or sent and something for it is missing."""

    def __init__(self, missing: str, to_do: str = "write them to files with --out meanwhile") -> None:
        super().__init__(f"no reminder goes out: {missing}; {to_do}")


class SecretOpenToOthers(FleetlogError):
    """A file with a secret that others can read."""

    def __init__(self, path: Path, mode: int) -> None:
        super().__init__(
            f"{path} can be read by others (mode {mode:o}), so its secret is not used; chmod 600 it"
        )


class MailNotTaken(FleetlogError):
    """The mail server did not take a mail."""

    def __init__(self, owner: str, reason: str, sent: int, *, in_doubt: bool) -> None:
        fate = (
            f"broke off while it took the mail to {owner} ({reason}): whether it went out is in doubt, and it"
            " is not sent again unless you say --again"
            if in_doubt
            else f"did not take the mail to {owner}: {reason}"
        )
        super().__init__(
            f"the mail server {fate}; {sent} sent before it are recorded and will not go out twice"
        )


class MailFolderTaken(FleetlogError):
    """A folder for mails that holds some already."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"{folder} holds mails of an earlier run, which might go out twice; give a new or empty folder"
        )
