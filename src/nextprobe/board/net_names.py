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


_VOLTAGE = r"\+?\d{1,2}(?:V|\.)\d{0,3}V?(?:EXT|IN|OUT|SB|AUX|REG|[ADPU])?"
_VOLTAGE += r"|V\d{1,2}V?\d{1,3}|P{1,2}\d{1,2}V\d{0,3}"
_SUPPLY = r"[A-Z]{0,3}V(?:DD|CC)[A-Z]{0,6}(?:\d*|\d{1,2}[VP]\d{1,3})"
_SUPPLY += r"|V(?:BAT|BUS|SYS|IN|OUT|PH|IO|PP|LED|USB|REG|PWR|CHG|COM|GH|GL|AA|EE)[A-Z]?\d*"
_SUPPLY += r"|VBATT|LDO\d*|HV|DCIN|\+V|V\+"
_WEAK = re.compile(r"\+?BATT?\+?|\+?BATTERY\+?")
"""Words of a rail only where no other word of the name says something else."""
_CORE = r"VCORE|VCPU|VGPU|VSOC|VDDCORE|VDDCPU|VDDGPU|VDDSOC|VDDINT|CORE|CPU|GPU|SOC"
_SENSING = r"SENSE|SNS|FB|FEEDBACK|MON|DET|ADC\d*|VSNS|ISNS|MEAS|DIV"
_ENABLING = r"EN|ENABLE|PG|PGOOD|OK|GOOD|FAULT|FLT|ON|OFF|INT|IRQ"
_PAIR_SIDES = {"P": "N", "N": "P", "DP": "DM", "DM": "DP", "DN": "DP", "+": "-", "-": "+"}

_WORDS: tuple[tuple[Role, str], ...] = (
    (
        Role.GROUND,
        r"[ADPSC]?GND(?:[ADPS]|REF|PWR|PLL|RF|IO)?\d*|[AD]?VSS[A-Z]{0,3}\d*|GROUND|0V|EARTH|"
        r"CHASSIS|SHIELD|SHLD",
    ),
    (Role.NOT_CONNECTED, r"NC\d*|DNC|N/C|UNCONNECTED"),
    (Role.RADIO, r"ANT\d*|RF\d*|RFIN|RFOUT|LNA|WLANANT|GPSANT|RFFE"),
    (Role.OPEN_DRAIN, r"SDA\d*|SCL\d*|I2C\d*"),
    (
        Role.CLOCK,
        r"[A-Z]{0,3}CLK\d*|CLOCK|CLKIN|CLKOUT|XTAL[A-Z]*\d*|XIN|XOUT|XI|XO|OSC[A-Z0-9]{0,5}|"
        r"SCK\d*|BCK|LRCK|CK|TCK|SCLK[A-Z]?|CLK[A-Z]{1,3}\d*",
    ),
    (
        Role.ANALOGUE,
        rf"{_SENSING}|THERM|NTC|TEMP|MIC\d*|SPK[PN]?\d*|SPKR|HP[LR]?|EAR|RCV|AIN\d*|AOUT\d*|"
        r"VREF\d*|REF|COMP|ISET|VIB|MOTOR|BIAS|IBAT|LED[KA]?\d*|COIL\d*|CC[12]|AN\d+|DAC\d*|"
        r"AUDIO|LINE(?:IN|OUT)|SW|LX\d*|BOOST|BST|ILIM|TS|RSET|RBIAS|REXT|RED|GREEN|BLUE",
    ),
    (
        Role.LOGIC,
        rf"{_ENABLING}|N?RE?SE?T(?:N|B)?|XRST|XSHUTDOWN|PWDN|PDN|STBY|SLEEP|WAKE|GPIO\d*|IO\d*|"
        r"SEL\d*|CS\d*|CSN|SS|MISO|MOSI|SDI|SDO|DIN|DOUT|[TR]XD?\d*|[CR]TS|UART\d*|SPI\d*|"
        r"[A-Z]?[TR]XD\d*|[A-Z]?[CR]TS\d*|ADR\d*|[ST]I|SO|EXTIN|EXTOUT|RSTO|RSTI|BOOTSEL|"
        r"[HV]?SYNC|FSYNC|STROBE|TRIG|BOOT\d*|KEY\d*|BTN\d*|TE|ID|DATA?\d*|D\d+|CMD|PWM\d*|"
        r"SWDIO|SWO|TMS|TDI|TDO|TRST|N?TRST|FLASH|TORCH|DIR|LOCK|ALERT|ADDR?\d*|A\d+|DQ\d+|DQM\d*|"
        r"N?(?:WE|OE|RD|WR|RAS|CAS|CE)\d*|ROW\d*|COL\d*|DTR|DSR|DCD|RI|RS|RW|PROG|DONE|INIT|"
        r"SCS|BUSY|READY|RDY|ACK|REQ|CTRL|CTL|BL|BACKLIGHT|LED\d*EN|P[A-H]\d+|PRSNT|HPD|CEC|"
        r"BUTTON\d*|BTN[A-Z]*\d*|KEY[A-Z]*\d*|[A-Z]?RESET[BN]?|M?RST[BN]?|MCLR|CHIPEN|CHPD",
    ),
)
_COMPILED = tuple((role, re.compile(words)) for role, words in _WORDS)
_RAIL = re.compile(f"(?!0V$)(?:{_SUPPLY}|{_VOLTAGE})")
_LEVEL = re.compile(_VOLTAGE)
_SIGNAL = re.compile(r"SDA\d*|SCL\d*|[MSP]?CLK|SCK|[TR]XD?\d*|RST|RESET|MISO|MOSI|CS|[CR]TS|SD[IO]")
"""Words of a signal, whose voltage may stand beside them: ``CAM_SDA_1V8``."""
_CORE_WORD = re.compile(_CORE)
_NOT_A_RAIL = re.compile(f"(?:{_SENSING}|{_ENABLING}|REF)")


_MADE_UP = re.compile(r"(?:.*/)?Net-\(.*\)|N\$\d+|NET\d+|NODE_?\d+", re.IGNORECASE)
_NO_LANE = re.compile(
    r"(?:[AV]?IN|V?OUT|SPK|SPKR|MIC|EAR|RCV|HP|LINE|AUDIO|SENSE|SNS|CS|VS|LED|XTAL|OSC|MOTOR|VIB|"
    r"REF|C|CF|CP|ISNS|THERM|NTC|COIL|AMP|SHUNT)\d*[LR]?",
    re.IGNORECASE,
)
_SUPPLY_STEM = re.compile(r"V?BATT?|V|DC|PWR|POWER|PV|SOLAR|CELL|V[A-Z]{2,3}|", re.IGNORECASE)


def is_made_up(name: str) -> bool:
    """Whether a program made the name up, as EDA tools do for nets that nobody has named."""
    return bool(_MADE_UP.fullmatch(name))


def role_of_pair(name: str) -> Role | None:
    """Return what two nets are whose names differ in their polarity; None for a supply.

    A pair is a fast serial lane unless its words speak of sound, sensing or a supply.
    """
    words = [word for word in re.split(r"[^A-Z0-9]+", name.rsplit("/", 1)[-1].upper()) if word]
    kept = [word for word in words if word not in _PAIR_SIDES] or [""]
    stems = {re.sub(r"(?<=[A-Z])[PN]$", "", word) for word in kept} | set(kept)
    if any(_SUPPLY_STEM.fullmatch(word) for word in kept):
        return None
    return Role.ANALOGUE if any(_NO_LANE.fullmatch(word) for word in stems) else Role.LANE


def words_of(name: str) -> tuple[str, ...]:
    """Split a net's name into upper-case words: ``/cam/SDA_1`` gives ``CAM``, ``SDA``, ``1``."""
    leaf = (
        name.replace("{slash}", "_").rsplit("/", 1)[-1].upper()
        if not name.upper().endswith("N/C")
        else "NC"
    )
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
    return None if is_made_up(name) else role_from_words(name, words_of(name))


def role_from_words(name: str, words: tuple[str, ...]) -> RoleGuess | None:
    """Return what the words of a name say; None if they say nothing."""
    rail = _rail(name, words)
    if rail is not None:
        return rail
    for role, pattern in _COMPILED:
        for word in words:
            if pattern.fullmatch(word):
                return RoleGuess(role, f"{word} in {name}", 0.9)
    weak = next((word for word in words if _WEAK.fullmatch(word)), None)
    return RoleGuess(Role.RAIL, f"{weak} in {name}", 0.7) if weak else None


def _rail(name: str, words: tuple[str, ...]) -> RoleGuess | None:
    supplies = [word for word in words if _RAIL.fullmatch(word)]
    if not supplies and not any(word in ("VCORE", "VCPU", "VGPU", "VSOC") for word in words):
        return None
    if any(_NOT_A_RAIL.fullmatch(word) for word in words):
        return None
    if all(_LEVEL.fullmatch(word) for word in supplies) and any(map(_SIGNAL.fullmatch, words)):
        return None
    core = [word for word in words if _CORE_WORD.fullmatch(word)]
    if core:
        return RoleGuess(Role.CORE_RAIL, f"{core[0]} in {name}", 0.9)
    return RoleGuess(Role.RAIL, f"{supplies[0]} in {name}", 0.9)
