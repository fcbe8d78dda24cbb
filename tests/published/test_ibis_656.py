"""Clamp tables of the I/O Buffer Information Specification, ANSI/EIA-656 (IBIS).

Sections are those of version 5.0 (IBIS Open Forum, ratified 29 August 2008), of which only the
table of contents was seen. Seen in other places, and quoted at the check:

- W. Katz, "[Pulldown Reference] [GND Clamp Reference] Offset in [Pulldown] [Ground Clamp]", IBIS
  GND Editorial, 4 March 2016, slides 2 and 3, which repeat section 6: "Vtable = Vcc – Voutput";
  without [GND Clamp Reference], "the voltage data points in the [GND Clamp] I-V table are
  referenced to 0 V"; "Vcc" is the rail of [Voltage Range] or [POWER Clamp Reference].
- BIRD 185.2 of the IBIS Open Forum (2016), section 3, guideline 1: "The content of the files is
  case sensitive, except for reserved words and keywords."

All else is from memory, and says so.
"""

from __future__ import annotations

import pytest

from nextprobe.readers.ibis import IbisFile, Model, read_ibis
from nextprobe.readers.ibis.numerals import UnreadableError, numeral


def file_of(body: str, head: str = "[IBIS Ver] 5.0") -> IbisFile:
    found, findings = read_ibis(f"{head}\n[Component] K\n[Pin]\n1 X m\n{body}\n[End]\n")
    assert found is not None
    assert findings == (), [str(item) for item in findings]
    return found


def model_of(body: str) -> Model:
    return file_of(f"[Model] m\nModel_type I/O\n{body}").models["m"]


# Section 3, general syntax rules.


@pytest.mark.parametrize(
    ("word", "value"),
    [("1T", 1e12), ("1G", 1e9), ("1M", 1e6), ("1k", 1e3), ("1m", 1e-3), ("1u", 1e-6),
     ("1n", 1e-9), ("1p", 1e-12), ("1f", 1e-15)],
)  # fmt: skip
def test_scale_factors(word: str, value: float) -> None:
    """T, G, M, k, m, u, n, p and f scale a number (from memory)."""
    assert numeral(word) == pytest.approx(value)


@pytest.mark.parametrize(
    ("word", "value"),
    [("1.2mA", 1.2e-3), ("3.3V", 3.3), ("5pF", 5e-12), ("50mOhm", 0.05), ("10Ohm", 10.0),
     ("2MEG", 2e6), ("2meg", 2e-3)],
)  # fmt: skip
def test_only_one_letter_behind_a_number_counts(word: str, value: float) -> None:
    """Units may follow a scale; only the first letter behind a number is looked at (from memory).

    So ``2meg`` is two thousandths: this is not SPICE.
    """
    assert numeral(word) == pytest.approx(value)


def test_scientific_notation_and_na() -> None:
    """Scientific notation is allowed; ``NA`` is a reserved word (from memory)."""
    assert numeral("-1.2345e-12") == pytest.approx(-1.2345e-12)
    assert numeral("NA") is None
    # Reserved words may be in any case (BIRD 185.2).
    assert numeral("na") is None
    with pytest.raises(UnreadableError):
        numeral("N/A")


def test_scales_have_a_case() -> None:
    """Content is case sensitive (BIRD 185.2): K and U are no scales."""
    for word in ("1K", "1UA", "1NF"):
        with pytest.raises(UnreadableError):
            numeral(word)


@pytest.mark.parametrize("keyword", ["[GND Clamp]", "[GND_Clamp]", "[gnd clamp]", "[Gnd_CLAMP]"])
def test_keywords(keyword: str) -> None:
    """Their case does not matter (BIRD 185.2); blanks and underscores are one (from memory)."""
    assert model_of(f"{keyword}\n-1 -20m NA NA\n0 0 NA NA").ground_clamp is not None


def test_model_names_have_a_case() -> None:
    """Content is case sensitive (BIRD 185.2)."""
    tables = "[GND Clamp]\n-1 -20m NA NA\n0 0 NA NA"
    found = file_of(f"[Model] m\nModel_type Input\n{tables}\n[Model] M\nModel_type Output")
    assert {name: model.kind for name, model in found.models.items()} == {
        "m": "Input",
        "M": "Output",
    }


def test_comments() -> None:
    """``|`` begins a comment, unless [Comment Char] names another sign (from memory)."""
    table = "[GND Clamp]  {0} V I\n{0} nothing\n-1 -20m NA NA {0} last\n0 0 NA NA"
    first = model_of(table.format("|")).clamps
    other = file_of(
        f"[Model] m\n{table.format('#')}", "[IBIS Ver] 5.0\n[Comment Char] #_char"
    ).models["m"]
    assert other.clamps == first


def test_what_follows_the_end_is_not_read() -> None:
    """[End] is the last keyword of a file (section 4, from memory)."""
    found, findings = read_ibis("[IBIS Ver] 5.0\n[Model] m\n[End]\n[Model] m\n[GND Clmp]\n")
    assert found is not None
    assert findings == ()


# Section 5, component description.


def test_reserved_words_in_place_of_a_model() -> None:
    """POWER, GND and NC are no models (from memory); their case does not matter (BIRD 185.2)."""
    text = (
        "[IBIS Ver] 2.1\n[Component] K\n[Pin] s m R L C\n1 V power\n2 G GND 1 1n 1p\n3 N nc\n[End]"
    )
    found, findings = read_ibis(text)
    assert found is not None
    assert findings == ()
    assert [pin.model for pin in found.components[0].pins] == ["POWER", "GND", "NC"]


def test_the_first_model_of_a_selector_is_the_default() -> None:
    """[Model Selector]: the first model listed is the default (from memory)."""
    found = file_of("[Model Selector] m\nb drive 8 mA\na drive 4 mA\n[Model] a\n[Model] b")
    model = found.model_of(found.components[0].pins[0])
    assert model is not None
    assert model.name == "b"


# Section 6, model statement.


def test_the_ground_clamp_is_above_its_reference() -> None:
    """Voltages are those of the pin above 0 V, currents positive into the pin.

    The first is in Katz, slide 3; the second from memory. A clamp from ground conducts below
    ground, and its current comes out of the pin.
    """
    clamp = model_of("[GND Clamp]\n-0.8 -5mA NA NA\n-0.6 -1mA NA NA\n0 0 NA NA").ground_clamp
    assert clamp is not None
    assert clamp.drop(1e-3) == pytest.approx(0.6)
    assert clamp.typ.current(0.8) == pytest.approx(5e-3)


@pytest.mark.parametrize(
    "reference", ["[Voltage Range] 3.3 3.0 3.6", "[POWER Clamp Reference] 5.0 4.5 5.5"]
)
def test_the_power_clamp_is_turned_round(reference: str) -> None:
    """``Vtable = Vcc − Voutput`` (Katz, slide 2).

    A pin 0.7 V above its rail stands at −0.7 V in the table, whatever the rail is, and current
    flows into it: the drop from pin to rail is the same on a board without power.
    """
    table = "[POWER Clamp]\n-0.9 6mA NA NA\n-0.7 1mA NA NA\n0 0 NA NA\n3.3 0 NA NA"
    clamp = model_of(f"{reference}\n{table}").power_clamp
    assert clamp is not None
    assert clamp.drop(1e-3) == pytest.approx(0.7)
    assert clamp.typ.current(-3.3) == 0.0


def test_four_columns_typical_first() -> None:
    """Voltage, then typical, minimum and maximum current; NA where not available (from memory)."""
    rows = "-1 -20m -10m -40m\n-0.6 NA -0.5m -2m\n-0.5 -0.1m NA -1m\n0 0 0 0"
    clamp = model_of(f"[GND Clamp]\n{rows}").ground_clamp
    assert clamp is not None
    assert clamp.typ.volts == (0.0, 0.5, 1.0)
    assert clamp.min is not None
    assert clamp.min.amperes == pytest.approx((0.0, 0.5e-3, 10e-3))
    assert clamp.drop(1e-3, "max") == pytest.approx(0.5)


def test_two_points_or_more() -> None:
    """A table has two points or more (from memory)."""
    found, findings = read_ibis("[IBIS Ver] 5.0\n[Model] m\n[GND Clamp]\n0 0 0 0\n[End]")
    assert found is not None
    assert found.models["m"].ground_clamp is None
    assert "fewer than two points" in findings[0].what
