"""Every formula with printed coefficients, worked out again in 40 digits from the coefficients as
they stand in the source, and compared to 1e-12: so a slip in a last digit is seen, which no
printed table is fine enough to show.  Argument: the build folder.
"""
import os
import sys
from decimal import Decimal as D, getcontext

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "support"))
from peers import Library, Tally

getcontext().prec = 40
KELVIN = D("273.15")

# Hyland & Wexler (1983), ASHRAE Fundamentals ch. 1 eqs (6) and (5): C1 ... C7.
WATER = [D(c) for c in ("-5.8002206e3", "1.3914993", "-4.8640239e-2", "4.1764768e-5",
                        "-1.4452093e-8", "0", "6.5459673")]
ICE = [D(c) for c in ("-5.6745359e3", "6.3925247", "-9.677843e-3", "6.2215701e-7",
                      "2.0747825e-9", "-9.484024e-13", "4.1635019")]
# USDA Wood Handbook eq. (4-5), degC.
ISOTHERM = [[D(c) for c in row] for row in (("349", "1.29", "0.0135"),
                                            ("0.805", "0.000736", "-0.00000273"),
                                            ("6.27", "-0.00938", "-0.000303"),
                                            ("1.91", "0.0407", "-0.000293"))]
# Greenspan (1977); the signs of LiCl and K2CO3 as the printed table demands.
SALTS = [[D(c) for c in row] for row in (("11.2323", "0.00824245", "-2.14890e-4", "0"),
                                         ("33.6686", "-0.00797397", "-1.08988e-3", "0"),
                                         ("43.1315", "0.00147523", "0", "0"),
                                         ("75.5164", "0.0398321", "-2.65459e-3", "2.848e-5"),
                                         ("88.6190", "-0.193340", "8.99706e-4", "0"),
                                         ("96.3361", "0.0112371", "-4.84514e-3", "0"),
                                         ("98.7792", "-0.0590502", "0", "0"))]
# Ojanen et al. (2010): A, B, C and lowest humidity of each class.
CLASSES = [[D(c) for c in row] for row in (("1", "7", "2", "80"), ("0.3", "6", "1", "80"),
                                           ("0", "5", "1.5", "85"), ("0", "3", "1", "85"))]


def svp(c, t_c):
    t = D(t_c) + KELVIN
    return (c[0] / t + c[1] + c[2] * t + c[3] * t**2 + c[4] * t**3 + c[5] * t**4
            + c[6] * t.ln()).exp()


def emc(t_c, rh):
    t = D(t_c)
    w, k0, k1, k2 = (a + b * t + c * t * t for a, b, c in ISOTHERM)
    k = k0 * D(rh) / 100
    a, b = k1 * k, k1 * k2 * k * k
    return 1800 / w * (k / (1 - k) + (a + 2 * b) / (1 + a + b))


def ratio(t_c, rh, p):  # ASHRAE Fundamentals ch. 1
    e = D(rh) / 100 * svp(WATER, t_c)
    return D("0.621945") * e / (D(p) - e)


def enthalpy(t_c, rh, p):
    t = D(t_c)
    return D("1.006") * t + ratio(t_c, rh, p) * (2501 + D("1.86") * t)


def ratio_at_wet_bulb(t_c, tw_c, p):
    """Humidity ratio of air at t with this wet bulb."""
    t, tw = D(t_c), D(tw_c)
    latent, slope, heat = (("2830", "0.24", "2.1") if tw < 0 else ("2501", "2.326", "4.186"))
    e = svp(ICE if tw < 0 else WATER, tw_c)
    saturated = D("0.621945") * e / (D(p) - e)
    return (((D(latent) - D(slope) * tw) * saturated - D("1.006") * (t - tw))
            / (D(latent) + D("1.86") * t - D(heat) * tw))


def critical(t_c, lowest):  # Hukka & Viitanen (1999)
    t = D(t_c)
    cubic = D("-0.00267") * t**3 + D("0.160") * t**2 - D("3.13") * t + 100
    return lowest if t > 20 else max(cubic, lowest)


def limit(kind, t_c, rh):
    a, b, c, lowest = CLASSES[kind]
    crit = critical(t_c, lowest)
    x = (crit - D(rh)) / (crit - 100)
    return max(a + b * x - c * x * x, D(0))


def weeks(wood, surface, t_c, rh):  # Hukka & Viitanen (1999)
    return (D("-0.68") * D(t_c).ln() - D("13.9") * D(rh).ln() + D("0.14") * D(wood)
            - D("0.33") * D(surface) + D("66.02")).exp()


def first_hour(k1, limit_m, m, t_c, rh, wood="0", surface="0"):
    """What one hour adds to index m: k1 k2 / (7 tm) a day."""
    k2 = 1 - (D("2.3") * (D(m) - limit_m)).exp()
    return D(k1) * k2 / (7 * weeks(wood, surface, t_c, rh)) / 24


def questions():
    """Pairs of a question and its answer in 40 digits."""
    air = [("20", "50"), ("-10", "70"), ("37.5", "81"), ("0", "12.5"), ("60", "3")]
    for t in ("-100", "-60", "-20", "0", "20", "50", "100", "200"):
        yield ("svp_water", t), svp(WATER, t)
    for t in ("-100", "-60", "-20", "-1", "0"):
        yield ("svp_ice", t), svp(ICE, t)
    for t, rh in air:
        yield ("absolute_humidity", t, rh), (1000 * D(rh) / 100 * svp(WATER, t)
                                             / (D("461.52") * (D(t) + KELVIN)))
        for p in ("101325", "80000"):
            yield ("ratio", t, rh, p), ratio(t, rh, p)
            yield ("enthalpy", t, rh, p), enthalpy(t, rh, p)
    for z in ("500", "1500", "5000"):
        yield ("pressure_at", z), 101325 * (1 - D("2.25577e-5") * D(z))**D("5.2559")
    for t in ("0", "20", "40", "130"):
        for rh in ("5", "50", "95"):
            yield ("emc", t, rh), emc(t, rh)
    for i, (a0, a1, a2, a3) in enumerate(SALTS):
        for t in ("0", "7", "30") + (("50",) if i != 2 else ()):
            yield ("salt", str(i), t), a0 + D(t) * (a1 + D(t) * (a2 + D(t) * a3))
    for s in ("6.6", "11.9"):  # Wood Handbook ch. 13
        yield ("shrink_from_total", s), 1 / (3000 / D(s) - 20)
    for t, rh in (("20", "97"), ("5", "90"), ("40", "85")):
        for wood, surface in (("0", "0"), ("1", "0"), ("0", "1")):
            yield ("mould_weeks", wood, surface, t, rh), weeks(wood, surface, t, rh)
        for kind in range(4):
            yield ("mould_limit", str(kind), t, "99"), limit(kind, t, "99")
            yield ("mould_critical", str(kind), t), critical(t, CLASSES[kind][3])
    for kind, (start, grown) in enumerate((("1", "2"), ("0.578", "0.386"), ("0.072", "0.097"),
                                           ("0.033", "0.014"))):
        m_max = limit(kind, "20", "99")
        for m, k1 in (("0", start), ("1", grown)):
            yield (("mould_index", str(kind), m, "20", "99", "1", "0"),
                   D(m) + first_hour(k1, m_max, m, "20", "99"))
    # The 1999 form above index 1: k1 = 2 / (tv / tm - 1), tv from memory.
    for wood, surface in (("0", "0"), ("1", "0"), ("0", "1")):
        visible = (D("-0.74") * D(20).ln() - D("12.72") * D(97).ln() + D("0.06") * D(wood)
                   + D("61.50")).exp()
        k1 = 2 / (visible / weeks(wood, surface, "20", "97") - 1)
        yield (("mould_index_1999", wood, surface, "1", "20", "97", "1"),
               1 + first_hour(k1, limit(0, "20", "97"), "1", "20", "97", wood, surface))


def compare_warm_boards(tally, library):
    """D by temperature, exp(-5280 (1/T - 1/293.15)) (from memory: Simpson & Liu 1991): a board at
    20 degC with D multiplied by hand must be the board that does it itself."""
    for t in ("5", "31"):
        factor = (-5280 * (1 / (D(t) + KELVIN) - 1 / D("293.15"))).exp()
        answers = []
        for d, by_temperature in ((1e-10, 1), (float(factor) * 1e-10, 0)):
            answers += library.ask([("board_begin", 0.01, 1, d, 0, 0, by_temperature, 6),
                                    ("board_air", float(t), 60, 300000), ("board_now",)])
        itself, by_hand = (float(a.split()[0]) for a in answers)
        tally.near("D by temperature", itself, by_hand, relative=1e-12, at=t)


def main():
    library, tally = Library(sys.argv[1]), Tally()
    for question, want in questions():
        # The decimal words themselves are asked, so that both start from the same number.
        tally.near(question[0], library.values([(question[0], *map(float, question[1:]))])[0],
                   float(want), 1e-15, 1e-12, at=question)
    # A wet bulb is right if the air that has it is the air that was asked about.
    for t, rh, p in (("20", "50", "101325"), ("30", "5", "80000"), ("-10", "70", "101325"),
                     ("-20", "20", "90000"), ("80", "40", "101325")):
        tw = library.values([("wet_bulb", float(t), float(rh), float(p))])[0]
        tally.near("humidity ratio at the wet bulb",
                   float(ratio_at_wet_bulb(t, repr(tw), p)), float(ratio(t, rh, p)),
                   relative=1e-9, at=(t, rh, p))
    # Just above 0 degC the bulb is wet, just below it is iced; where both would do it is wet.
    for t in ("1", "4"):
        for want in ("0.04", "-2"):
            e = ratio_at_wet_bulb(t, want, "101325")
            e = D("101325") * e / (D("0.621945") + e)
            rh = float(100 * e / svp(WATER, t))
            got = library.values([("wet_bulb", float(t), rh, 101325.0)])[0]
            tally.near("wet bulb about 0 degC", got, float(want), 1e-7, at=(t, rh))
    compare_warm_boards(tally, library)
    return tally.report()


if __name__ == "__main__":
    sys.exit(main())
