"""Name pests and diseases that crops share, of one family or several, as far as they are known."""

from collections.abc import Mapping

from striplay.season.facts import CropFacts

SHARED: Mapping[str, frozenset[str]] = {
    name: frozenset(crops.split())
    for name, crops in {
        "corn earworm": "corn sweet_corn sorghum cotton soybean dry_bean",
        "fall armyworm": "corn sweet_corn sorghum millet cotton soybean groundnut alfalfa ryegrass",
        "armyworm": "corn sweet_corn winter_wheat spring_wheat oats barley rye ryegrass",
        "stink bugs": "corn sweet_corn sorghum winter_wheat spring_wheat soybean dry_bean cowpea "
        "cotton",
        "spider mites": "corn sweet_corn soybean dry_bean groundnut cotton",
        "slugs": "corn sweet_corn winter_wheat rye ryegrass soybean dry_bean field_pea faba_bean "
        "alfalfa red_clover canola radish lettuce",
        "cutworms": "corn sweet_corn spring_wheat barley oats soybean dry_bean field_pea lentil "
        "chickpea alfalfa canola radish sunflower lettuce sugar_beet potato cotton flax",
        "wireworms": "corn sweet_corn sorghum winter_wheat spring_wheat barley oats potato "
        "sugar_beet sunflower lettuce radish",
        "grasshoppers": "corn spring_wheat barley oats soybean dry_bean lentil alfalfa red_clover "
        "canola sunflower flax",
        "potato leafhopper": "potato soybean dry_bean faba_bean alfalfa red_clover",
        "lygus bugs": "cotton alfalfa faba_bean canola sunflower safflower",
        "white mold": "soybean dry_bean field_pea faba_bean lentil chickpea alfalfa canola "
        "sunflower safflower lettuce potato",
        "Fusarium head blight and ear rot": "corn winter_wheat spring_wheat barley oats rye",
        "Rhizoctonia root rot": "soybean dry_bean sugar_beet",
        "soybean cyst nematode": "soybean dry_bean",
        "root-knot nematodes": "corn soybean cowpea cotton potato sugar_beet winter_squash lettuce",
    }.items()
}
"""Crops of the table that each pest or disease lives on, from memory and not complete."""


def shared_pests(one: CropFacts, other: CropFacts) -> list[str]:
    """Name pests and diseases known of both crops; none where none come to mind."""
    return [name for name, crops in SHARED.items() if {one.kind, other.kind} <= crops]
