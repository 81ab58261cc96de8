"""Fuzz what reads boundaries and plans, led by which code each input reaches.

Needs the package atheris. Run one for ten minutes, from the root of the repository::

    PYTHONPATH=.:tests python tests/fuzz/fuzz_readers.py boundaries -max_total_time=600
    PYTHONPATH=.:tests python tests/fuzz/fuzz_readers.py plans -max_total_time=600

Inputs begin with the files of `tests/corpus`. What ends in anything but a reading or a refusal in
words is written to a folder `found` beside where it is run, with what it ended in; reduced by hand
and mended, it becomes a file of the corpus, which `tests/unit/test_corpus.py` reads ever after.
"""

import hashlib
import shutil
import sys
import tempfile
import traceback
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["striplay", "tomllib", "json", "zipfile"]):
    from hostile import fault_of_words

    from striplay.errors import StriplayError
    from striplay.files.plan import read_plan
    from striplay.files.shapes import read_shapes
    from striplay.ground import locate

CORPUS = Path(__file__).parents[1] / "corpus"
ENDINGS = (".geojson", ".kml", ".gml", ".zip", ".gpkg", ".parquet")
FOUND = Path("found")


def read_boundary(path: Path) -> None:
    """Read a boundary, and put it on its plane."""
    locate(read_shapes(path))


READERS = {"boundaries": read_boundary, "plans": read_plan}


def fuzz(what: str, folder: Path) -> None:
    """Fuzz a reader until its time is over."""
    read = READERS[what]
    seen: set[str] = set()

    def one(data: bytes) -> None:
        if what == "plans":
            path, content = folder / "plan.toml", data
        else:  # the first byte says which format
            path = folder / f"field{ENDINGS[data[0] % len(ENDINGS) if data else 0]}"
            content = data[1:]
        path.write_bytes(content)
        try:
            read(path)
            fault = ""
        except StriplayError as error:
            fault = fault_of_words(str(error))
        except Exception:  # noqa: BLE001 - what is looked for
            fault = traceback.format_exc()
        finally:
            path.unlink()
        kind = fault.rsplit("File", 1)[-1][:160]
        if fault and kind not in seen:
            seen.add(kind)
            FOUND.mkdir(exist_ok=True)
            name = hashlib.sha256(data).hexdigest()[:12]
            (FOUND / f"{name}{path.suffix}").write_bytes(content)
            (FOUND / f"{name}.txt").write_text(fault)

    seeds = folder / "seeds"
    seeds.mkdir()
    for source in sorted((CORPUS / what).iterdir()):
        lead = b"" if what == "plans" else bytes([ENDINGS.index(source.suffix)])
        (seeds / source.name).write_bytes(lead + source.read_bytes())
    atheris.Setup([sys.argv[0], str(seeds), "-max_len=4000", *sys.argv[2:]], one)
    atheris.Fuzz()


if __name__ == "__main__":
    # atheris ends the process without clearing up, so what the last run left is cleared here
    working = Path(tempfile.gettempdir()) / f"striplay-fuzz-{sys.argv[1]}"
    shutil.rmtree(working, ignore_errors=True)
    working.mkdir()
    fuzz(sys.argv[1], working)
