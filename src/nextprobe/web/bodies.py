"""What may be sent, with the limits of every text and list."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from nextprobe.board import OVER_RANGE, MeterMode, OverRange, Role

MOST_READINGS = 2000
MOST_TEXT = 200_000
_ALLOWED = "\t\n\r"


def _printed(text: str) -> str:
    for sign in text:
        if (ord(sign) < 0x20 and sign not in _ALLOWED) or ord(sign) == 0x7F:
            raise ValueError("there is a control character in the text")
    return text


_Clean = AfterValidator(_printed)
Key = Annotated[
    str,
    Field(
        pattern=r"^[A-Za-z0-9_-]{8,64}$",
        description="made by the client for this entry, as in crypto.randomUUID(): the same key "
        "again writes nothing and gives the first answer",
    ),
]
Word = Annotated[str, StringConstraints(min_length=1, max_length=200), _Clean]
Line = Annotated[str, StringConstraints(max_length=1000), _Clean]
Remark = Annotated[str, StringConstraints(min_length=1, max_length=10_000), _Clean]
Text = Annotated[str, StringConstraints(min_length=1, max_length=MOST_TEXT), _Clean]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Value = Annotated[
    Number | Annotated[str, StringConstraints(min_length=1, max_length=64), _Clean],
    Field(description="a number [V, ohm or F], or as typed: 0.452, 452, 4k7, OL, over-range"),
]
Touch = Annotated[
    tuple[Word, Value], Field(description="pin, net or part, and what the meter showed")
]
Touches = Annotated[list[Touch], Field(min_length=1, max_length=MOST_READINGS)]
Result = Annotated[
    Number | Line | Touches,
    Field(description="a word or a value; for a run pairs of pin and value, in order"),
]
Money = Annotated[float, Field(ge=0.0, le=1e9, allow_inf_nan=False)]
Whole = Annotated[int, Field(ge=1, le=10_000_000)]
Meter = Annotated[MeterMode, Field(description="what the meter is set to")]


class Body(BaseModel):
    """A request that changes something, under a key of its own."""

    model_config = ConfigDict(extra="forbid")

    key: Key

    def said(self) -> dict[str, Any]:
        """Return what is asked for, without the key."""
        return self.model_dump(mode="json", exclude={"key"})


class NewJob(Body):
    """A device that has come in: from a pack, or from nothing but a complaint."""

    pack: Word | None = Field(None, description="name of a pack; or give a template")
    template: Word | None = Field(None, description="class of function: camera, touch, …")
    device: Line = ""
    complaint: Line = Field("", description="the function that fails; of several, say which")
    says: Annotated[str, StringConstraints(max_length=10_000), _Clean] = Field(
        "", description="what the customer says"
    )
    history: list[Word] = Field(
        default_factory=list, max_length=32, description="what happened, in words of the pack"
    )
    may_wipe: bool = Field(False, description="whether data may be lost")
    may_unpair: bool = Field(False, description="whether parts tied to their board may be lost")
    ceiling: Money | None = Field(None, description="the most that may be charged [currency]")
    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,63}$")] | None = Field(
        None, description="what the job is called; made from the device if left out"
    )
    checks: dict[Word, Literal["works", "fails"]] = Field(
        default_factory=dict, max_length=64, description="what was checked before it is opened"
    )


class StepResult(Body):
    """What came of a step, recommended or not."""

    step: Word
    result: Result = ""


class Readings(Body):
    """Readings at points, or a text with one a line; of the patient, or of a donor."""

    readings: Touches | None = None
    text: Text | None = Field(None, description="instead: J4.12 0.452, one a line")
    device: Word = Field("patient", description="patient, donor or second donor")
    mode: Meter = MeterMode.DIODE
    connector: Word = Field("J1", description="of pins that are written without one")


class Seen(Body):
    """What was seen by eye, in a log or by a self-test."""

    look: Word
    result: Line


class Checked(Body):
    """Whether a function works."""

    function: Word
    result: Literal["works", "fails"]


class Trial(Body):
    """A trial with a known-good module."""

    module: Word
    result: Line = Field(description="works, fails, or refresh failed CODE")
    form: Literal["fit", "fit-refresh", "refresh", "second", "refit"] = "fit"


class Refreshed(Body):
    """A firmware refresh with the originals fitted."""

    refresh: Word
    result: Line = Field(description="works, fails, or refresh failed CODE")


class WorkDone(Body):
    """Work at a place, and the check after it if there was one."""

    work: Word
    place: Word
    result: Literal["", "works", "fails"] = ""


class Note(Body):
    """A remark; it never changes a probability."""

    text: Remark


class Closing(Body):
    """How a job ends."""

    ending: Literal["close", "decline", "escalate"] = "close"


class Pinout(Body):
    """A pinout as people type or paste it: 12 CAM_SDA .452, or a table with tabs or commas."""

    text: Text
    connector: Word = "J1"


class Chains(Body):
    """What is joined to what, a chain a line: J4.12 > C87 100n > U3.AB4."""

    text: Text


class RoleOfNet(Body):
    """What the net under a point is for."""

    point: Word
    role: Role


class Correction(Body):
    """What an event should have said; for the first event, fields of the intake."""

    event: Whole
    result: Result = ""
    device: Word | None = None
    complaint: Word | None = None
    says: Annotated[str, StringConstraints(max_length=10_000), _Clean] | None = None
    history: list[Word] | None = Field(None, max_length=32)
    may_wipe: bool | None = None
    may_unpair: bool | None = None
    ceiling: Money | None = None

    def changes(self) -> dict[str, Any]:
        """Return the fields of the intake that are to change."""
        return self.model_dump(exclude={"key", "event", "result"}, exclude_none=True)


class Withdrawal(Body):
    """An event that is taken out of the account; the record keeps it."""

    event: Whole


class BenchOfBoard(Body):
    """How the bench stood when known-good boards were measured, and who measured."""

    mode: Meter = MeterMode.DIODE
    by: Line = ""
    on: Annotated[str, Field(pattern=r"^(\d{4}-\d{2}-\d{2})?$")] = Field(
        "", description="day of measuring, as in 2026-11-20"
    )
    meter: Line = ""
    source: Line = ""
    plugged: list[Word] = Field(default_factory=list, max_length=32)
    clamped: Word = "GND"
    negative_clamped: bool = False
    celsius: Annotated[float, Field(ge=-40.0, le=120.0)] | None = None


class GoodBoardTyped(BenchOfBoard):
    """The readings of one known-good board."""

    label: Word = Field(description="serial number or label of the board")
    text: Text = Field(description="a pin and its value a line")
    connector: Word = "J1"


class GoodBoardTable(BenchOfBoard):
    """Known-good boards as a table: points down, and a column for each board."""

    text: Text
    label: Line = Field("", description="of the board, if the table names none")


class GoodBoardCorrection(Body):
    """What a known-good board really read, or what it should be called."""

    number: Whole
    text: Text | None = Field(None, description="a pin and its value a line")
    label: Line = ""


class GoodBoardWithdrawal(Body):
    """A known-good board that is taken out of the account; the file keeps it."""

    number: Whole


class DonorToKeep(Body):
    """A donor measured in a job that is to count as a known-good board."""

    label: Line = Field("", description="of the donor; after the job if left out")
    device: Line = Field("", description="which donor, where there were several")


class Login(BaseModel):
    """A passphrase."""

    model_config = ConfigDict(extra="forbid", hide_input_in_errors=True)

    passphrase: Annotated[str, StringConstraints(min_length=1, max_length=1024)] = Field(
        repr=False, json_schema_extra={"writeOnly": True, "format": "password"}
    )


def typed(value: float | str) -> float | str | OverRange:
    """Return a value as the use cases take it."""
    plain = str(value).strip().lower()
    return OVER_RANGE if plain == OVER_RANGE.value else value
