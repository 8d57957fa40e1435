"""What every sheet of a binder says about itself: which project, which revision, which inputs."""

from __future__ import annotations

from dataclasses import dataclass

#: Printed on the cover and at the foot of every sheet.
DISCLAIMER = (
    "Design aid, not an approval; local code and the authority decide; "
    "have it reviewed by a licensed electrician"
)


@dataclass(frozen=True, slots=True)
class Frame:
    """Identity of a binder.

    Parameters
    ----------
    title : str
        Name of the project.
    number, revision : str
        As the project gives them; empty where it gives none.
    date : str
        Date of the project, ``YYYY-MM-DD``; the only date in the binder. Empty where it gives none.
    digest : str
        Digest of all inputs, hexadecimal; sheets carry its first twelve letters.
    revision_text : str
        State of the folder's history, for instance a commit; empty outside one.
    edition : str
        Rulebook that the checks follow.
    imperial : bool
        Whether lengths are printed in feet: letter sheets instead of A4.
    facts : tuple of (str, str)
        Further lines of the cover: place, owner, designer.
    language : str
        Language of the text, for readers that speak it.
    """

    title: str
    number: str = ""
    revision: str = ""
    date: str = ""
    digest: str = ""
    revision_text: str = ""
    edition: str = ""
    imperial: bool = False
    facts: tuple[tuple[str, str], ...] = ()
    language: str = "en"

    @property
    def digest_short(self) -> str:
        """First twelve letters of the digest: enough to tell two binders apart at sight."""
        return self.digest[:12]

    @property
    def revision_short(self) -> str:
        """State of the history as a sheet's head has room for it: the commit, with a plus where inputs differ.

        Examples
        --------
        >>> Frame("T", revision_text="commit 0123456789ab (issued-b), with changes to 1 file").revision_short
        '01234567+'
        """
        if not self.revision_text.startswith("commit "):
            return self.revision_text
        return self.revision_text.split()[1].strip(",")[:8] + (
            "+" if ", with changes" in self.revision_text else ""
        )

    @property
    def head_left(self) -> str:
        """Left half of a sheet's head: number and title, cut where the line ends."""
        return _cut(" · ".join(part for part in (self.number, self.title) if part), 62)

    @property
    def head_right(self) -> str:
        """Right half of a sheet's head: revision, date, state of the history and input digest."""
        parts = (
            f"revision {self.revision}" if self.revision else "",
            self.date,
            self.revision_short,
            f"inputs {self.digest_short}" if self.digest else "",
        )
        return _cut(" · ".join(part for part in parts if part), 62)


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"
