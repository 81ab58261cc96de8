"""Every system as a plan writes it, for the shed of fields.py and some more machines."""

MORE = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[crops.wheat]
planter = "drill"
harvester = "platform"
rate = "1500000 seeds/acre"
[mixtures.duo]
planter = "drill"
harvester = "platform"
parts = {wheat = 0.5, soybean = 0.7}
"""
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'
RELAY = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
    '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'
)
QUICK = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n'
    '[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\nseeder = "drill"\n'
)
AFTER = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    '[crops.rye]\nplanter = "drill"\nharvester = "none"\nrate = "60 lb/acre"\nsown = 2026-10-05\n'
    '[[after_harvest]]\ncrop = "rye"\nafter = "corn"\n'
)
MIXED = '[[strips]]\ncrop = "duo"\nwidth = "30 ft"\n'
SYSTEMS = {
    "strips": '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 48\n',
    "row set": ROW_SET,
    "row set, one way": ROW_SET + 'travel = "one way"\n',
    "relay": RELAY,
    "quick crop": QUICK,
    "a cover crop after harvest": AFTER,
    "mixed": MIXED,
    "a mixed strip beside a relay": MIXED + RELAY,
    "a quick crop in a row set": ROW_SET + QUICK.split("rows = 16\n")[1],
    "empty units at the sides": '[[row_set]]\nplanter = "planter"\n'
    'units = "1 empty, 6 corn, 2 empty, 6 soybean, 1 empty"\n',
    "a trial": '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    '[trial]\nreplicates = 2\nwidth = "40 ft"\n',
    "two crops between": RELAY + RELAY[RELAY.index("[[relay]]") :].replace("soybean", "corn"),
}
