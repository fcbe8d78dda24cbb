"""A board of about 150 parts and 120 nets, like the main board of a small handheld; invented."""

from __future__ import annotations

from nextprobe.board import Board, Part, PartKind, Pin, Role

KINDS = {
    "R": PartKind.RESISTOR,
    "C": PartKind.CAPACITOR,
    "FB": PartKind.FERRITE,
    "L": PartKind.INDUCTOR,
    "D": PartKind.DIODE,
    "TV": PartKind.PROTECTION,
    "Q": PartKind.TRANSISTOR,
    "S": PartKind.SWITCH,
    "Y": PartKind.CRYSTAL,
    "TP": PartKind.TEST_POINT,
}
RAILS = ("VIO", "VANA", "VDIG", "VMAIN", "VBAT")


class Builder:
    """Collects parts and gives them the next free designator."""

    def __init__(self) -> None:
        self.parts: list[Part] = []
        self.roles: dict[str, Role] = {}
        self._next: dict[str, int] = {}

    def add(self, prefix: str, *nets: str, value: float | None = None, note: str = "") -> str:
        number = self._next[prefix] = self._next.get(prefix, 0) + 1
        pins = tuple(Pin(str(place + 1), net) for place, net in enumerate(nets))
        self.parts.append(Part(f"{prefix}{number}", KINDS[prefix], pins, value, note))
        return f"{prefix}{number}"

    def wide(self, reference: str, kind: PartKind, nets: list[str]) -> None:
        pins = tuple(Pin(str(place + 1), net) for place, net in enumerate(nets))
        self.parts.append(Part(reference, kind, pins))

    def role(self, role: Role, *nets: str) -> tuple[str, ...]:
        self.roles.update(dict.fromkeys(nets, role))
        return nets

    def board(self) -> Board:
        return Board("generated", tuple(self.parts), self.roles)


def generated_board() -> Board:
    """Return the board: three connectors, a processor, a power chip, and what lies between."""
    build = Builder()
    build.role(Role.RAIL, *RAILS, "CAM_VANA", "CAM_VDIG", "CAM_VIO", "TP_VIO", "USB_V")
    build.role(Role.CORE_RAIL, "VCORE", "VMEM")
    processor = ["GND", "GND", "VIO", "VIO", "VCORE", "VCORE", "VMEM"]
    power = ["GND", "VBAT", "VMAIN", "VIO", "VDIG"]
    camera = _lanes(build, processor, "CAM", 5) + _controls(build, processor, "CAM")
    touch = _controls(build, processor, "TCH") + _plain(build, processor, "TCH", 4)
    _supplies(build, power)
    _second_chips(build, processor, power)
    build.wide("J1", PartKind.CONNECTOR, _spread(camera, ["CAM_VANA", "CAM_VDIG", "CAM_VIO"], 40))
    build.wide("J2", PartKind.CONNECTOR, _spread(touch, ["TP_VIO", "VMAIN"], 24))
    build.wide("J3", PartKind.CONNECTOR, ["USB_V", "USB_DM", "USB_DP", "USB_ID", "GND", "VBAT"])
    build.wide("U1", PartKind.CHIP, processor)
    build.wide("U2", PartKind.CHIP, power)
    return build.board()


def _spread(signals: list[str], rails: list[str], count: int) -> list[str]:
    """Return the nets of a connector: signals with grounds between every few, then rails."""
    nets: list[str] = []
    for place, signal in enumerate(signals):
        nets += ["GND", signal] if place % 2 == 0 else [signal]
    nets += rails
    return nets + ["GND"] * (count - len(nets))


def _lanes(build: Builder, processor: list[str], name: str, count: int) -> list[str]:
    """Add pairs of lanes with a series capacitor each; one pair is terminated outside."""
    outside = []
    for lane in range(count):
        for side in "PN":
            near, far = f"{name}_L{lane}{side}_C", f"{name}_L{lane}{side}"
            build.role(Role.LANE, near, far)
            build.add("C", far, near, value=100e-9)
            processor.append(near)
            outside.append(far)
    build.add("R", f"{name}_L0P", f"{name}_L0N", value=100.0)
    build.add("R", f"{name}_L0P", "GND", value=50e3)
    return outside


def _controls(build: Builder, processor: list[str], name: str) -> list[str]:
    """Add a two-wire bus with pull-ups, a clock with a series resistor, reset and two signals."""
    bus = build.role(Role.OPEN_DRAIN, f"{name}_SDA", f"{name}_SCL")
    for net in bus:
        build.add("R", net, "VIO", value=2.2e3)
        processor.append(net)
    inner, outer = build.role(Role.CLOCK, f"{name}_CLK_S", f"{name}_CLK")
    build.add("R", inner, outer, value=33.0)
    build.add("C", outer, "GND", value=10e-12)
    processor.append(inner)
    logic = build.role(Role.LOGIC, f"{name}_RST", f"{name}_EN", f"{name}_INT")
    processor += logic
    build.add("R", logic[0], "GND", value=100e3)
    build.add("R", logic[2], "VIO", value=10e3)
    for net in (*bus, logic[0]):
        build.add("TV", net, "GND")
    return [*bus, outer, *logic]


def _plain(build: Builder, processor: list[str], name: str, count: int) -> list[str]:
    """Add logic signals through small ferrites, each with a protection part."""
    outside = []
    for line in range(count):
        near, far = build.role(Role.LOGIC, f"{name}_IO{line}_S", f"{name}_IO{line}")
        build.add("FB", near, far, note="120R@100MHz")
        build.add("TV", far, "GND", note="unidirectional" if line % 2 else "")
        processor.append(near)
        outside.append(far)
    return outside


def _supplies(build: Builder, power: list[str]) -> None:
    """Add coils of the power chip, ferrites of the modules' rails, and decoupling."""
    for coil, rail in (("LX_CORE", "VCORE"), ("LX_MEM", "VMEM"), ("LX_MAIN", "VMAIN")):
        build.role(Role.UNKNOWN, coil)
        power.append(coil)
        build.add("L", coil, rail, value=1e-6, note="DCR 30m")
    for source, module in (("VANA", "CAM_VANA"), ("VDIG", "CAM_VDIG"), ("VIO", "CAM_VIO")):
        build.add("FB", source, module, note="600R@100MHz")
    build.add("FB", "VIO", "TP_VIO", note="600R@100MHz DCR 0.2")
    many = {"VCORE": 8, "VMEM": 4, "VIO": 5, "VMAIN": 4, "VBAT": 3}
    for rail in (*RAILS, "VCORE", "VMEM", "CAM_VANA", "CAM_VDIG", "CAM_VIO", "TP_VIO", "USB_V"):
        for size in range(many.get(rail, 2)):
            build.add("C", rail, "GND", value=(1e-6, 100e-9, 4.7e-6)[size % 3])
    for rail in ("VIO", "VMAIN", "VCORE"):
        build.add("TP", rail)


def _second_chips(build: Builder, processor: list[str], power: list[str]) -> None:
    """Add a regulator, charger, storage, an audio chip, keys, an oscillator and odds and ends."""
    build.wide("U3", PartKind.CHIP, ["VMAIN", "GND", "ANA_EN", "ANA_FB", "VANA"])
    build.role(Role.LOGIC, "ANA_EN", "ANA_FB")
    build.add("R", "VANA", "ANA_FB", value=390e3)
    build.add("R", "ANA_FB", "GND", value=120e3)
    processor.append("ANA_EN")
    lines = build.role(Role.ANALOGUE, "USB_DM", "USB_DP", "USB_ID")
    build.wide("U4", PartKind.CHIP, ["USB_V", "VBAT", "GND", "CHG_INT", "TCH_SDA", "TCH_SCL"])
    build.role(Role.LOGIC, "CHG_INT")
    build.add("R", "CHG_INT", "VIO", value=10e3)
    processor += ["CHG_INT", *lines]
    for net in (*lines, "USB_V"):
        build.add("TV", net, "GND", note="unidirectional" if net == "USB_V" else "")
    memory = build.role(Role.LANE, *(f"MEM_D{bit}" for bit in range(16)))
    extra = build.role(Role.CLOCK, "MEM_CK", "MEM_CMD")
    build.wide("U5", PartKind.CHIP, ["GND", "VMEM", "VIO", *memory, *extra])
    processor += [*memory, *extra]
    sound = build.role(Role.ANALOGUE, "SPK_P", "SPK_N", "MIC_P", "MIC_N")
    bits = build.role(Role.LOGIC, "SND_CK", "SND_WS", "SND_D", "SND_Q")
    build.wide("U6", PartKind.CHIP, ["VMAIN", "VIO", "GND", *sound, *bits, "CAM_SDA", "CAM_SCL"])
    processor += bits
    build.wide("J4", PartKind.CONNECTOR, ["SPK_OUT", "SPK_N", "MIC_IN", "MIC_N"])
    build.add("FB", "SPK_P", "SPK_OUT")
    build.add("C", "MIC_IN", "MIC_P", value=1e-6)
    build.add("R", "MIC_IN", "VIO", value=2.2e3)
    _odds(build, processor, power)


def _odds(build: Builder, processor: list[str], power: list[str]) -> None:
    clock = build.role(Role.CLOCK, "X_IN", "X_OUT")
    build.add("Y", *clock)
    for net in clock:
        build.add("C", net, "GND", value=12e-12)
        processor.append(net)
    keys = build.role(Role.LOGIC, "KEY_ON", "KEY_UP", "KEY_DN")
    for net in keys:
        build.add("S", net, "GND")
        build.add("R", net, "VMAIN", value=100e3)
        build.add("C", net, "GND", value=100e-9)
        power.append(net)
    build.role(Role.LOGIC, "VIB_G", "LED_K", "LED_D")
    build.add("Q", "VIB_G", "GND", "VIB_D", note="n-channel")
    build.add("R", "VIB_G", "GND", value=100e3)
    build.add("D", "VMAIN", "VIB_D", note="flyback diode")
    build.add("D", "LED_K", "VMAIN", note="red LED")
    build.add("R", "LED_K", "LED_D", value=470.0)
    processor += ["VIB_G", "LED_D"]
    reset = build.role(Role.LOGIC, "PWR_RST", "PWR_INT", "PWR_OK")
    power += [*reset, "SENSE_A", "SENSE_B"]
    processor += reset
    build.add("R", "PWR_INT", "VIO", value=10e3)
    build.add("R", "VBAT", "SENSE_A", value=1e3)
    build.add("R", "SENSE_A", "SENSE_B", value=0.01)
    for strap in range(6):
        (net,) = build.role(Role.LOGIC, f"STRAP{strap}")
        build.add("R", net, "VIO" if strap % 2 else "GND", value=10e3)
        processor.append(net)
