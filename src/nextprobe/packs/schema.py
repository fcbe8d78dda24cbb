"""What a device pack may say: the edge where text becomes typed data.

Times are in minutes and money in the pack's own currency, as people write them; everything
behind this edge is SI. Every model refuses fields that it does not know.
"""

from __future__ import annotations

from enum import StrEnum
from re import fullmatch
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticCustomError

from nextprobe.board import FaultKind, MeterMode, PartKind
from nextprobe.packs.causes import Cause
from nextprobe.packs.units import CHANCE, FACTOR, MILLIMETRES, MINUTES, MONEY, VOLTS

Chance = Annotated[float, Field(ge=0.0, le=1.0), CHANCE]
Minutes = Annotated[float, Field(ge=0.0, le=2880.0), MINUTES]
Money = Annotated[float, Field(ge=0.0, le=100_000.0), MONEY]
Factor = Annotated[float, Field(ge=0.0, le=1000.0), FACTOR]
Millimetres = Annotated[float, Field(ge=0.0, le=200.0), MILLIMETRES]
Volts = Annotated[float, Field(gt=0.0, le=1.0), VOLTS]
SupplyVolts = Annotated[float, Field(gt=0.0, le=30.0)]
Amperes = Annotated[float, Field(ge=0.0, le=20.0)]
BEFORE_KEY, AFTER_KEY = "before key", "after key"


def _words(*kinds: type[StrEnum], also: tuple[str, ...] = ()) -> list[str]:
    return [*dict.fromkeys(word.value for kind in kinds for word in kind), *also]


def _one_of(words: list[str]) -> AfterValidator:
    def known(word: str) -> str:
        if word not in words:
            raise PydanticCustomError(
                "unknown_word", "'{word}' is not known here", {"word": word, "words": words}
            )
        return word

    return AfterValidator(known)


def _enumerated(words: list[str]) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "enum": words})


def _in_the_pack(name: str) -> str:
    if not fullmatch(_OWN_FILE, name):
        raise PydanticCustomError(
            "own_file", "name a file in the pack's own folder, as in bridge.ibs"
        )
    return name


# No root, no drive, no backslash, and no step up.
_OWN_FILE = r"(?!(?:.*/)?\.\.(?:/|$))[^/\\:\n\0][^\\:\n\0]*"
OwnFile = Annotated[
    str,
    AfterValidator(_in_the_pack),
    WithJsonSchema({"type": "string", "pattern": f"^{_OWN_FILE}$"}),
]

_MODES = _words(MeterMode)
_FAULTS = _words(FaultKind)
_PARTS = _words(PartKind, also=("bridge", "broken net"))
_OUTCOMES = _words(FaultKind, Cause, also=("otherwise",))
ModeWord = Annotated[str, _one_of(_MODES), _enumerated(_MODES)]
FaultWord = Annotated[str, _one_of(_FAULTS), _enumerated(_FAULTS)]
PartWord = Annotated[str, _one_of(_PARTS), _enumerated(_PARTS)]
OutcomeWord = Annotated[str, _one_of(_OUTCOMES), _enumerated(_OUTCOMES)]


class FunctionClass(StrEnum):
    """The seven classes of function that templates exist for."""

    CAMERA = "camera"
    TOUCH = "touch"
    DISPLAY = "display"
    CHARGING = "charging"
    POWER = "power"
    SOUND = "sound"
    RADIO = "radio"


class Access(StrEnum):
    """How far the device has to be taken apart."""

    CLOSED = "closed"
    OPEN = "open"
    BOARD_OUT = "board out"


class Model(BaseModel):
    """Base of all: immutable, and strict about names."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, allow_inf_nan=False
    )


class Device(Model):
    """Which device this is."""

    name: str = Field(min_length=1)
    maker: str = ""
    cell: bool = Field(True, description="whether it holds a lithium cell")
    sealed: bool = Field(False, description="whether it is glued rather than screwed")


class Check(Model):
    """How to see whether a function works."""

    how: str
    minutes: Minutes
    false_pass: Chance = Field(description="chance that the check passes though it does not work")
    false_fail: Chance = Field(description="chance that the check fails though it works")
    access: Access = Access.CLOSED


class Needs(Model):
    """What a function needs; nets are derived from connectors and chips where there is a board."""

    modules: tuple[str, ...] = ()
    connectors: tuple[str, ...] = ()
    chips: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()
    rails: tuple[str, ...] = ()
    firmware: bool = True
    external: bool = True
    externals: tuple[str, ...] = Field(
        (), description="items outside the device that are tried one by one"
    )


class Function(Model):
    """Something that the user of the device can do, and a technician can check."""

    title: str
    kind: FunctionClass = Field(alias="class")
    check: Check
    needs: Needs
    causes: dict[Cause, Factor] = Field(description="share of each cause among complaints [%]")
    intermittent: Chance = Field(description="share of faults that come and go")
    duty: Chance = Field(description="share of checks in which a fault that comes and goes shows")
    cautions: tuple[str, ...] = ()


class Pairing(Model):
    """What happens to a part of a module that is tied to its board."""

    part: str
    grade: Literal["works", "warning", "lost while away", "lost for good", "transferable"]
    lost: str = ""


class Module(Model):
    """A part of the device that is swapped whole."""

    title: str
    connector: str | None = None
    price: Money
    minutes: Minutes = Field(description="to fit one, device open")
    access: Access = Access.OPEN
    recognised: Literal["at once", "after refresh"]
    donor_bad: Chance
    pairing: tuple[Pairing, ...] = ()
    cautions: tuple[str, ...] = ()


class Refresh(Model):
    """A firmware update (keeps data) or restore (wipes it)."""

    title: str
    how: str = Field(default="", description="how it is done on this device")
    attended: Minutes
    elapsed: Minutes = Field(description="waiting on top of the attended minutes")
    keeps_data: bool
    success: Chance = Field(description="chance that it runs to its end")
    bricks: Chance = Field(description="chance that it leaves the device dead")
    cures_recognition: Chance
    cures_corruption: Chance
    needs: tuple[Literal["network", "charge", "passcode"], ...] = ()
    codes: dict[str, str] = Field(default_factory=dict, description="what each error code means")
    code_chances: dict[str, dict[OutcomeWord, Chance]] = Field(
        default_factory=dict,
        description="chance of each code, once it has failed, by fault kind, cause or 'otherwise'",
    )
    cautions: tuple[str, ...] = ()


class Look(Model):
    """An observation by eye, or a log, self-test or error code.

    `outcomes` maps each thing that may be seen to its chance under a fault kind, a cause or
    ``otherwise``; what remains is ``nothing``.
    """

    title: str
    how: str
    minutes: Minutes
    access: Access
    connector: str | None = Field(None, description="faults elsewhere count as 'otherwise'")
    function: str | None = Field(
        None, description="faults that this function does not need count as 'otherwise'"
    )
    outcomes: dict[str, dict[OutcomeWord, Chance]]
    cautions: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _outcomes_fit(self) -> Look:
        words = {word for chances in self.outcomes.values() for word in chances}
        for word in words:
            total = sum(
                chances.get(word, chances.get("otherwise", 0.0))
                for chances in self.outcomes.values()
            )
            if total > 1.0 + 1e-9:
                raise ValueError(f"the chances under '{word}' sum to {total:g}, more than 1")
        if "nothing" in self.outcomes:
            raise ValueError("'nothing' is what remains and can not be listed")
        return self


class Work(Model):
    """A kind of work: cleaning, replacing a part, opening the device."""

    title: str
    minutes: Minutes
    elapsed: Minutes = Field(0.0, description="waiting on top of the attended minutes")
    parts: Money = 0.0
    success: Chance = 1.0
    harm: Chance = Field(0.0, description="chance of new damage")
    access: Access = Access.OPEN
    removes: bool = Field(False, description="whether the part is off the board afterwards")
    heat: bool = False
    radius: Millimetres = Field(0.0, description="reach of the heat [mm]")
    unplug: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class Costs(Model):
    """What things are worth to this shop and customer."""

    currency: str
    attended_per_hour: Money
    elapsed_per_hour: Money
    data: Money = Field(description="of a customer's data without a backup")
    pairing: Money = Field(description="of a pairing that is lost")
    lost_job: Money = Field(description="of declining")
    needless: Money = Field(description="of selling a module that was not needed: trust, waste")
    comeback: Money = Field(description="of a device that returns")
    damage: Money = Field(description="of new damage done by work")
    escalation: Money = Field(description="of an open-ended search beyond the listed faults")
    ceiling: Money | None = Field(None, description="most that the customer will pay")


class ChipData(Model):
    """What is known of one chip of the board."""

    clamps: OwnFile = Field(
        description="IBIS file (ANSI/EIA-656) in the pack's folder with the chip's clamp tables"
    )
    component: str = Field(
        "", description="its component in that file; needed where the file has several"
    )


class Rates(Model):
    """Relative rates of faults: ``{part kind: {fault kind: rate}}`` and known weak spots."""

    by_kind: dict[PartWord, dict[FaultWord, Factor]]
    weak_spots: dict[str, Factor] = Field(
        default_factory=dict, description="multiplies the rate of a part, pin or fault by name"
    )


class Nearby(Model):
    """Where drops, liquid and earlier work usually do harm: parts, and what lies close to them."""

    drop: tuple[str, ...] = ()
    liquid: tuple[str, ...] = ()
    earlier_work: tuple[str, ...] = Field((), alias="earlier work")


class ModeSpread(Model):
    """How far readings in one meter mode spread; a share of the reading, and a floor."""

    model: Factor = Field(description="spread of a computed prediction, as a share of it")
    between_boards: Factor = Field(description="spread between good boards, as a share")
    floor: Annotated[float, Field(ge=0.0, le=1e6)] = Field(
        0.0, description="spread of even the smallest reading [V, ohm or F]"
    )


class Reading(Model):
    """How good the readings are."""

    minutes_known: Minutes = Field(description="one reading, place known")
    minutes_run: Minutes = Field(description="to set up a run under the microscope")
    minutes_per_pin: Minutes = Field(description="each pin of a run")
    minutes_switch: Minutes = Field(0.25, description="to set the meter to another mode")
    minutes_power: Minutes = Field(
        1.0, description="to put the device under power, or to take it off and let it discharge"
    )
    slip: Chance
    between_boards: Volts = Field(description="spread between good boards [V]")
    model: Volts = Field(description="spread of a computed prediction [V]")
    modes: dict[ModeWord, ModeSpread] = Field(
        default_factory=dict, description="spread in meter modes other than diode mode"
    )
    access: Access = Access.OPEN


class SupplyState(Model):
    """A current that may be drawn, and how likely it is."""

    chance: Chance = 1.0
    mean: Amperes
    spread: Amperes


class SupplyStage(Model):
    """The current from a bench supply in one state of the device.

    `under` maps a fault kind, a cause or ``otherwise`` to what may be drawn instead; what
    remains is healthy.
    """

    title: str
    how: str
    minutes: Minutes
    access: Access = Access.OPEN
    mean: Amperes = Field(description="healthy [A]")
    spread: Amperes = Field(description="between good devices [A]")
    under: dict[OutcomeWord, tuple[SupplyState, ...]] = Field(default_factory=dict)
    cautions: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _chances_fit(self) -> SupplyStage:
        for word, states in self.under.items():
            total = sum(state.chance for state in states)
            if total > 1.0 + 1e-9:
                raise ValueError(f"the chances under '{word}' sum to {total:g}, more than 1")
        return self


class SupplyCurrent(Model):
    """What the device draws from a bench supply in place of its battery."""

    volts: SupplyVolts = Field(description="of the bench supply [V]")
    limit: Amperes = Field(description="current limit of the bench supply [A]")
    rails: tuple[str, ...] = Field(
        (), description="nets that have power before the key; a leak from one draws at once"
    )
    before_key: SupplyStage | None = None
    after_key: SupplyStage | None = None

    def stages(self) -> dict[str, SupplyStage]:
        """Return the stages that the pack describes, by name."""
        known = {BEFORE_KEY: self.before_key, AFTER_KEY: self.after_key}
        return {name: stage for name, stage in known.items() if stage is not None}


class External(Model):
    """Something outside the device that may be to blame, and is tried alone."""

    title: str
    share: Factor = Field(description="of this item among causes outside the device")
    work: str = Field(description="the kind of work that tries it")


class ReadyJob(Model):
    """A job that can be played on the simulated bench."""

    title: str
    says: str = Field(description="what the customer says")
    complaint: str = Field(description="the function that fails")
    history: tuple[str, ...] = ()
    may_wipe: bool = False
    faults: tuple[str, ...] = Field(min_length=1)
    lesson: str = ""


class Pack(Model):
    """A device as Nextprobe knows it, with every default filled in.

    `provenance` maps a dotted path to where its value came from.
    """

    format: Literal[1] = 1
    device: Device
    functions: dict[str, Function] = Field(min_length=1)
    modules: dict[str, Module] = Field(default_factory=dict)
    refreshes: dict[str, Refresh] = Field(default_factory=dict)
    looks: dict[str, Look] = Field(default_factory=dict)
    rails: dict[str, SupplyVolts] = Field(
        default_factory=dict, description="voltage of rails on the powered board [V]"
    )
    supply_current: SupplyCurrent | None = None
    externals: dict[str, External] = Field(default_factory=dict)
    work: dict[str, Work]
    costs: Costs
    rates: Rates
    readings: Reading
    chips: dict[str, ChipData] = Field(
        default_factory=dict, description="what is known of chips, by their reference"
    )
    history: dict[str, dict[Cause, Factor]]
    nearby: Nearby = Nearby()
    firmware_split: dict[FaultWord, Factor] = Field(
        description="how the share of firmware divides over its fault kinds"
    )
    seating_split: dict[FaultWord, Factor] = Field(
        description="how the share of seating divides over its fault kinds"
    )
    together: dict[str, Chance] = Field(
        default_factory=dict,
        description="chance that what happened, being to blame, has left a second fault",
    )
    coincidence: Chance = Field(
        0.0, description="chance that a second fault is there that has nothing to do with the first"
    )
    unlisted: Chance = Field(description="prior of a fault that is not in the list")
    jobs: dict[str, ReadyJob] = Field(default_factory=dict)
    provenance: dict[str, str] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _names_exist(self) -> Pack:
        for name, function in self.functions.items():
            for module in function.needs.modules:
                if module not in self.modules:
                    raise ValueError(f"functions.{name} needs an unknown module '{module}'")
            for item in function.needs.externals:
                if item not in self.externals:
                    raise ValueError(f"functions.{name} needs an unknown external '{item}'")
        for name, external in self.externals.items():
            if external.work not in self.work:
                raise ValueError(f"externals.{name} names an unknown work '{external.work}'")
        for name, job in self.jobs.items():
            if job.complaint not in self.functions:
                raise ValueError(f"jobs.{name} complains of an unknown '{job.complaint}'")
            for word in job.history:
                if word not in self.history:
                    raise ValueError(f"jobs.{name} has an unknown history '{word}'")
        return self
