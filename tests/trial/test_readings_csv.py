"""Fit readings from CSV: what is understood, and what is said of the rest."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.trial.readings_csv import ReadingsError, read_file, read_text

PORTS = ["P1", "P2", "P10"]


def test_a_plain_file():
    first, second, third = read_text("port,dx_mm,dy_mm,note\nP1,-1.5,0,\nP2,0,0,right\nP10,,2,card touches\n", PORTS)
    assert (first.port, first.dx_mm, first.dy_mm) == ("P1", -1.5, 0.0)
    assert (second.port, second.note) == ("P2", "right")
    assert (third.dx_mm, third.dy_mm, third.note) == (None, 2.0, "card touches")


@pytest.mark.parametrize(
    "text",
    [
        "port;dx_mm;dy_mm;note\nP1;-1,5;0,25;x\n",
        "port\tdx_mm\tdy_mm\tnote\nP1\t-1,5\t0,25\tx\n",
        "\ufeffnote,dy_mm,port,dx_mm\r\nx, 0.25, p1, \u22121.5\r\n\r\n".lstrip("\ufeff"),
        'PORT,DX_MM,DY_MM,NOTE,colour\n"P1",-1.5,0.25,x,red\n',
        "\n\nport,dx_mm,dy_mm\nP1,-1.5,0.25",
    ],
)
def test_the_same_in_other_hands(text):
    (reading,) = read_text(text, PORTS)
    assert (reading.port, reading.dx_mm, reading.dy_mm) == ("P1", -1.5, 0.25)


def test_a_spread_of_ones_own():
    (reading,) = read_text("port,dx_mm,dy_mm,spread_mm\nP1,1,1,0.2\n", PORTS)
    assert reading.spread_mm == 0.2


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "the file is empty"),
        ("port,dx_mm,dy_mm,note\n", "no reading below"),
        ("port,dx,dy_mm,note\nP1,1,1,\n", "line 1: the column 'dx_mm' is missing"),
        ("port,dx,dy_mm,note\nP1,1,1,\n", "rename the column 'dx'"),
        ("name,dx_mm,dy_mm\nP1,1,1\n", "the column 'port' is missing"),
        ("port,dx_mm,dy_mm,dx_mm\nP1,1,1,1\n", "stands twice"),
        ("port,dx_mm,dy_mm,note\nP1,1,1,\nP11,1,1,\n", "line 3: no port is called 'P11'; did you mean"),
        ("port,dx_mm,dy_mm,note\nQ,1,1,\n", "the ports are P1, P2, P10"),
        ("port,dx_mm,dy_mm,note\nP1,one,1,\n", "line 2: dx_mm is no number: 'one'"),
        ("port,dx_mm,dy_mm,note\nP1,1,nan,\n", "line 2: dy_mm is no number"),
        ("port,dx_mm,dy_mm,note\nP1,1,inf,\n", "line 2: dy_mm is no number"),
        ("port,dx_mm,dy_mm,note\nP1,1_0,1,\n", "dx_mm is no number"),
        ("port,dx_mm,dy_mm,note\nP1,99999,1,\n", "no port moves that far"),
        ("port,dx_mm,dy_mm,note\nP1,1.5 mm,1,\n", "write a number such as -1.5"),
        ("port,dx_mm,dy_mm,note\nP1,1,1,\nP2,0,0,\nP1,2,2,\n", "line 4: the port 'P1' stands in line 2 already"),
        ("port,dx_mm,dy_mm,note\n,1,1,\n", "the port's name is missing"),
        ("port,dx_mm,dy_mm,note\nP1,,,\n", "nothing is said of 'P1'"),
        ("port,dx_mm,dy_mm,note\nP1,1,1,a,b\n", "5 fields where the first line names 4"),
        ("port,dx_mm,dy_mm,spread_mm\nP1,1,1,0\n", "spread_mm must be more than 0"),
        ('port,dx_mm,dy_mm,note\nP1,1,1,"open\n', "quotation marks"),
        ("port,dx_mm,dy_mm,note\nP1,1,1,\0\n", "no text"),
        ("port,dx_mm,dy_mm,note\nP1,1,1," + "x" * 5000 + "\n", "longer than 4000"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text, says):
    with pytest.raises(ReadingsError) as caught:
        read_text(text, PORTS)
    assert says in str(caught.value)


def test_files(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_bytes("\ufeffport,dx_mm,dy_mm,note\r\nP1,1,2,ä\r\n".encode())
    assert read_file(path, PORTS)[0].note == "ä"
    path.write_bytes(b"port,dx_mm,dy_mm,note\nP1,1,2,\xe4\n")
    with pytest.raises(ReadingsError, match="UTF-8"):
        read_file(path, PORTS)
    path.write_bytes(b"x" * 1_000_001)
    with pytest.raises(ReadingsError, match="larger than 1 MB"):
        read_file(path, PORTS)


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    with contextlib.suppress(ReadingsError):
        assert read_text(text, PORTS)


def test_readings_in_inches_are_turned_into_millimetres():
    """25.4 mm to the inch, exactly (yard and pound agreement of 1959, from memory)."""
    rows = read_text("port,dx_in,dy_in\nP1,0.5,-0.125\n", ["P1", "P2"])
    assert (rows[0].dx_mm, rows[0].dy_mm) == (12.7, -3.175)
    with pytest.raises(ReadingsError, match="'dx_mm' stands twice"):
        read_text("port,dx_mm,dx_in,dy_mm\nP1,1,1,1\n", ["P1"])
    with pytest.raises(ReadingsError, match="no port moves that far"):
        read_text("port,dx_in,dy_in\nP1,400,0\n", ["P1"])
