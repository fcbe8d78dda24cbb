"""The role that a net's name suggests.

Names of nets follow no standard: the words below are common practice, no published source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from nextprobe.board.kinds import Role


@dataclass(frozen=True)
class RoleGuess:
    """A role with what speaks for it.

    Parameters
    ----------
    role : Role
        `Role.UNKNOWN` where nothing speaks for any.
    reason : str
        For the technician.
    confidence : float
        Rough probability that the role is right [1].
    """

    role: Role
    reason: str
    confidence: float


_VOLTAGE = r"\+?\d{1,2}(?:V|\.)\d{0,3}V?|V\d{1,2}V?\d{1,3}|P{1,2}\d{1,2}V\d{0,3}"
_SUPPLY = r"[A-Z]{0,3}V(?:DD|CC)[A-Z]{0,6}(?:\d*|\d{1,2}[VP]\d{1,3})"
_SUPPLY += r"|V(?:BAT|BUS|SYS|IN|OUT|PH|IO|PP|LED)[A-Z]?\d*|VBATT|LDO\d*"
_CORE = r"VCORE|VCPU|VGPU|VSOC|VDDCORE|VDDCPU|VDDGPU|VDDSOC|VDDINT|CORE|CPU|GPU|SOC"
_SENSING = r"SENSE|SNS|FB|MON|DET|ADC|VSNS|ISNS|MEAS|DIV"
_ENABLING = r"EN|ENABLE|PG|PGOOD|OK|GOOD|FAULT|FLT|ON|OFF|INT|IRQ"
_PAIR_SIDES = {"P": "N", "N": "P", "DP": "DM", "DM": "DP", "DN": "DP", "+": "-", "-": "+"}

_WORDS: tuple[tuple[Role, str], ...] = (
    (Role.GROUND, r"[ADPS]?GND[AD]?\d*|VSS[A-Z]{0,3}\d*|GROUND|0V|EARTH"),
    (Role.NOT_CONNECTED, r"NC\d*|DNC|N/C|UNCONNECTED"),
    (Role.RADIO, r"ANT\d*|RF\d*|RFIN|RFOUT|LNA|WLANANT|GPSANT|RFFE"),
    (Role.OPEN_DRAIN, r"SDA\d*|SCL\d*|I2C\d*"),
    (Role.CLOCK, r"[MSPRBF]?CLK\d*|CLOCK|CLKIN|CLKOUT|XTAL\d*|XIN|XOUT|OSC\d*|SCK\d*|BCK|LRCK|CK"),
    (
        Role.ANALOGUE,
        rf"{_SENSING}|THERM|NTC|TEMP|MIC\d*|SPK[PN]?\d*|SPKR|HP[LR]?|EAR|RCV|AIN\d*|AOUT\d*|"
        r"VREF\d*|REF|COMP|ISET|VIB|MOTOR|BIAS|IBAT|LEDK?\d*|COIL\d*",
    ),
    (
        Role.LOGIC,
        rf"{_ENABLING}|N?RE?SE?T(?:N|B)?|XRST|XSHUTDOWN|PWDN|PDN|STBY|SLEEP|WAKE|GPIO\d*|IO\d*|"
        r"SEL\d*|CS\d*|CSN|SS|MISO|MOSI|SDI|SDO|DIN|DOUT|[TR]XD?\d*|[CR]TS|UART\d*|SPI\d*|"
        r"[HV]?SYNC|FSYNC|STROBE|TRIG|BOOT\d*|KEY\d*|BTN\d*|TE|ID|DATA?\d*|D\d+|CMD|PWM\d*|"
        r"SWDIO|TMS|TDI|TDO|FLASH|TORCH|DIR|LOCK|ALERT",
    ),
)
_COMPILED = tuple((role, re.compile(words)) for role, words in _WORDS)
_RAIL = re.compile(f"(?!0V$)(?:{_SUPPLY}|{_VOLTAGE})")
_CORE_WORD = re.compile(_CORE)
_NOT_A_RAIL = re.compile(f"(?:{_SENSING}|{_ENABLING}|REF)")


def words_of(name: str) -> tuple[str, ...]:
    """Split a net's name into upper-case words: ``/cam/SDA_1`` gives ``CAM``, ``SDA``, ``1``."""
    leaf = name.rsplit("/", 1)[-1].upper() if not name.upper().endswith("N/C") else "NC"
    return tuple(word for word in re.split(r"[^A-Z0-9+.]+", leaf) if word)


def partner_of(name: str) -> str | None:
    """Return the name that the other net of a differential pair would have."""
    match = re.fullmatch(r"(.*?)([_.\-/]?)(DP|DM|DN|[PN+\-])(\d*)", name, re.IGNORECASE)
    if match is None:
        return None
    stem, joint, side, digits = match.groups()
    if not joint and side.upper() in ("P", "N") and not re.search(r"\d$|[A-Z]{2}D$", stem):
        return None
    other = _PAIR_SIDES[side.upper()]
    return (
        f"{stem}{joint}{other if side.isupper() or not side.isalpha() else other.lower()}{digits}"
    )


def role_from_name(name: str) -> RoleGuess | None:
    """Return what a name says on its own; None if it says nothing."""
    words = words_of(name)
    rail = _rail(name, words)
    if rail is not None:
        return rail
    for role, pattern in _COMPILED:
        for word in words:
            if pattern.fullmatch(word):
                return RoleGuess(role, f"{word} in {name}", 0.9)
    return None


def _rail(name: str, words: tuple[str, ...]) -> RoleGuess | None:
    supplies = [word for word in words if _RAIL.fullmatch(word)]
    if not supplies and not any(word in ("VCORE", "VCPU", "VGPU", "VSOC") for word in words):
        return None
    if any(_NOT_A_RAIL.fullmatch(word) for word in words):
        return None
    core = [word for word in words if _CORE_WORD.fullmatch(word)]
    if core:
        return RoleGuess(Role.CORE_RAIL, f"{core[0]} in {name}", 0.9)
    return RoleGuess(Role.RAIL, f"{supplies[0]} in {name}", 0.9)
