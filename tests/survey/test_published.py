"""Networks with a published answer; each printed digit has to come out."""

from dataclasses import replace

import numpy as np
import pytest
from surveying import KIND, network, plan_network, reading, tape

from soapstone.survey import Network, adjust, coordinate_readings, findings, snoop
from soapstone.survey.scatter_search import descend_together

# H. Wolf, Ausgleichungsrechnung II, 1979, p. 87
WOLF = network(
    {"1": (1200, 900, 900), "2": (900, 600, 900), "3": (600, 900, 900), "4": (900, 1200, 900)},
    [
        tape("1 P", 499.99, 0.01),
        tape("2 P", 500.00, 0.01),
        tape("3 P", 500.01, 0.01),
        tape("4 P", 500.02, 0.01),
    ],
    sides=[("P", "above", "1")],
)
# C. D. Ghilani, Adjustment Computations, 5th ed. 2010, ex. 14.5 p. 251
GHILANI = plan_network(
    {"Badger": (2410000.0, 390000.0), "Bucky": (2411820.0, 386881.222)},
    False,
    """
    Badger Wisconsin 5870.302 0.01
    Badger Campus 7297.588 0.01
    Wisconsin Campus 3616.434 0.01
    Wisconsin Bucky 5742.878 0.01
    Campus Bucky 5123.760 0.01
    """,
)
# G. Strang, K. Borre, Linear Algebra, Geodesy, and GPS, 1997, ex. 12.4 p. 411
STRANG = plan_network(
    {"P": (170.71, 170.71), "1": (170.71, 270.71), "2": (100.0, 100.0), "3": (241.42, 100.0)},
    True,
    """
    1 P 100.01 0.01
    2 P 100.02 0.01
    3 P 100.03 0.01
    1 2 184.785 0.01
    2 3 141.44 0.01
    1 3 184.805 0.01
    """,
)
# N. Benning, Statistik in Geodäsie, Geoinformation und Bauwesen, 2011, ex. 8-2 p. 256
BENNING = plan_network(
    {"1": (0.0, 1000.0), "2": (1000.0, 1000.0)},
    False,
    """
    1 3 1000.02 0.01
    1 4 1414.20 0.01
    2 3 1414.24 0.01
    2 4 999.98 0.01
    3 4 1000.00 0.01
    """,
)
# W. Höpke, Fehlerlehre und Ausgleichungsrechnung, 1980, ex. 35.5 p. 120
HOEPKE_AT = {
    "20": (3579041.416, 5707194.412),
    "75": (3575403.277, 5707682.612),
    "86": (3575322.061, 5708700.952),
    "87": (3576581.778, 5709938.106),
    "1006": (3578284.289, 5708758.641),
    "1011": (3577052.332, 5708103.204),
    "1059": (3576852.894, 5706633.642),
    "1087": (3576213.699, 5709199.889),
}
HOEPKE = plan_network(
    HOEPKE_AT,
    True,
    """
    86 1006 2962.832 0.001
    86 87 1765.657 0.001
    86 1087 1021.768 0.001
    86 75 1021.536 0.001
    86 1011 1830.646 0.001
    86 20 4012.921 0.001
    86 1059 2572.516 0.001
    1087 87 824.863 0.001
    1087 20 3466.722 0.001
    1087 1059 2644.789 0.001
    1087 75 1720.130 0.001
    1087 1006 2117.134 0.001
    1087 1011 1380.633 0.001
    1006 75 3075.373 0.001
    1006 20 1737.824 0.001
    1006 1059 2562.134 0.001
    1006 1011 1395.459 0.001
    1006 87 2071.154 0.001
    1011 87 1894.263 0.001
    1011 75 1701.824 0.001
    1011 1059 1483.088 0.001
    1011 20 2186.853 0.001
    1059 20 2259.167 0.001
    1059 75 1789.449 0.001
    1059 87 3315.630 0.001
    20 87 3684.782 0.001
    20 75 3670.735 0.001
    """,
)


def half_digit(text: str) -> float:
    """Half a unit of the last printed digit."""
    return 0.5 * 10.0 ** -len(text.partition(".")[2])


def check(net: Network, point: str, at: list[str], spread_cm: list[str], s0: float | None = None) -> None:
    """Coordinates and their standard deviations (scaled by the variance factor) to the printed digits.

    The source rounds correctly; 0.01 digit more is allowed for values at the edge of rounding.
    """
    survey = adjust(net)
    assert survey.variance_factor is not None
    scale = 100 * survey.variance_factor**0.5
    for value, text in zip(survey.point(point), at, strict=False):
        assert value == pytest.approx(float(text), abs=1.02 * half_digit(text))
    for value, text in zip(survey.sigma_of(point), spread_cm, strict=False):
        assert value * scale == pytest.approx(float(text), abs=1.02 * half_digit(text))
    if s0 is not None:
        assert survey.variance_factor**0.5 == pytest.approx(s0, rel=1e-6)  # printed to 8 digits


def test_wolf_1979_page_87():
    check(WOLF, "P", ["900.0167", "899.9833", "1300.0062"], ["1.179", "1.179", "0.625"])


def test_ghilani_2010_example_14_5():
    net = replace(GHILANI, sides=(("Wisconsin", "forward of", "Bucky"),))
    check(net, "Wisconsin", ["2415776.9044", "391043.2945"], ["14.879", "22.061"])
    check(net, "Campus", ["2416892.6955", "387603.2551"], ["10.378", "27.054"])
    residuals = [c.residual for c in adjust(net).checked[:5]]
    published = [0.05468354, -0.07901055, 0.03675096, -0.06164457, 0.06392672]
    assert residuals == pytest.approx(published, abs=2e-8)  # 8 digits; coordinates of 2.4e6 m carry 1e-9


def test_strang_borre_1997_example_12_4_free_network():
    check(STRANG, "P", ["170.7123", "170.7185"], ["1.079", "0.682"], 1.1763625)
    check(STRANG, "1", ["170.7032", "270.7213"], ["0.810", "0.551"])
    check(STRANG, "2", ["99.9912", "99.9971"], ["0.641", "0.705"])
    check(STRANG, "3", ["241.4333", "99.9830"], ["0.640", "0.705"])


def test_benning_2011_example_8_2():
    net = replace(BENNING, sides=(("3", "right of", "1"),))
    check(net, "3", ["-0.0096", "-0.0226"], ["0.901", "0.637"])
    check(net, "4", ["999.9930", "0.0174"], ["0.901", "0.637"])


def test_hoepke_1980_example_35_5_free_network():
    check(HOEPKE, "20", ["3579041.4042", "5707194.4039"], ["0.209", "0.265"], 4.954393)
    check(HOEPKE, "1059", ["3576852.9606", "5706633.5764"], ["0.247", "0.212"])
    check(HOEPKE, "1087", ["3576213.6691", "5709199.9319"], ["0.241", "0.227"])


def test_hoepke_with_a_misread_distance_names_it():
    """The printed list has 1789.499 where the printed results need 1789.449; figures derived from both."""
    spoiled = [replace(r, value=1789.499) if r.label == "plan 1059 75" else r for r in HOEPKE.readings]
    net = replace(HOEPKE, readings=tuple(spoiled))
    survey = adjust(net)
    by_strike = sorted(survey.checked, key=lambda c: -abs(c.standardised))
    assert by_strike[0].reading.label == "plan 1059 75"
    assert by_strike[0].standardised == pytest.approx(-34.26, abs=0.005)
    assert by_strike[1].standardised == pytest.approx(-24.02, abs=0.005)
    assert by_strike[0].error == pytest.approx(0.0501237, abs=2e-6)
    assert survey.variance_factor**0.5 == pytest.approx(10.410651, abs=1e-5)
    first = snoop(net, survey).suspects[0]
    assert net.readings[first.row].label == "plan 1059 75"


def test_mikhail_1976_example_7_4_levelling():
    """E. M. Mikhail, Observations and Least Squares, ex. 7.4 p. 147: heights from height differences."""
    lines = [
        ("A B", 25.42, 18.1),
        ("B C", 10.34, 9.4),
        ("C A", -35.20, 14.2),
        ("B D", -15.54, 17.6),
        ("D E", 21.32, 13.5),
        ("E C", 4.82, 9.9),
        ("E A", -31.02, 13.8),
        ("C D", -26.11, 14.0),
    ]
    rises = [reading(KIND.HEIGHT, pair, rise, km**0.5) for pair, rise, km in lines]
    plan = [r for p in "BCDE" for r in coordinate_readings(p, (ord(p), 0.0, 0.0), 1.0, f"at {p}")[:2]]
    survey = adjust(network({"A": (0, 0, 800)}, [*rises, *plan]))
    heights = [survey.point(p)[2] for p in "BCDE"]
    assert heights == pytest.approx([825.22062, 835.53543, 809.53393, 830.84603], abs=1e-5)
    assert survey.variance_factor**0.5 == pytest.approx(0.063583, abs=1e-6)
    assert survey.freedom == 4


# NIST Statistical Reference Datasets, nonlinear regression: data, certified values, both starts
BOXBOD = (np.array([1, 2, 3, 5, 7, 10.0]), np.array([109, 149, 149, 191, 213, 224.0]))
MGH09 = (
    np.array([4, 2, 1, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625]),
    np.array([0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246]),
)
MISRA = (
    np.array([77.6, 114.9, 141.1, 190.8, 239.9, 289, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760]),
    np.array(
        [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.4, 75.47, 81.78]
    ),
)


def _saturation(data):
    x, y = data

    def function(b):
        fade = np.exp(np.minimum(-b[:, 1:] * x, 300.0))  # a wild trial step must not overflow
        return b[:, :1] * (1 - fade) - y, np.stack([1 - fade, b[:, :1] * x * fade], axis=2)

    return function


def _rational(b):
    x, y = MGH09
    b1, b2, b3, b4 = (b[:, i : i + 1] for i in range(4))
    up, down = x**2 + x * b2, x**2 + x * b3 + b4
    parts = [up / down, b1 * x / down, -b1 * up * x / down**2, -b1 * up / down**2]
    return b1 * up / down - y, np.stack(parts, axis=2)


@pytest.mark.parametrize(
    ("function", "starts", "certified", "sum_of_squares"),
    [
        (_saturation(BOXBOD), [(1, 1), (100, 0.75)], (213.80940889, 0.54723748542), 1168.0088766),
        (_saturation(MISRA), [(500, 1e-4), (250, 5e-4)], (238.94212918, 5.5015643181e-4), 0.12455138894),
        (
            _rational,
            [(25, 39, 41.5, 39), (0.25, 0.39, 0.415, 0.39)],
            (0.19280693458, 0.19128232873, 0.12305650693, 0.13606233068),
            3.0750560385e-4,
        ),
    ],
    ids=["BoxBOD", "Misra1a", "MGH09"],
)
def test_nist_nonlinear(function, starts, certified, sum_of_squares):
    ends, sums = descend_together(function, np.array(starts, dtype=float), steps=500, still=1e-12)
    for end, total in zip(ends, sums, strict=True):
        assert end == pytest.approx(certified, rel=1e-6)  # six digits
        assert total == pytest.approx(sum_of_squares, rel=1e-6)


def test_the_readings_of_a_published_network_raise_no_alarm():
    verdicts = {f.verdict for f in findings(adjust(WOLF), WOLF, within=0.05) if f.kind == "reading"}
    assert verdicts == {"holds"}
