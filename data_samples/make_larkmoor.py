"""Make the files of Larkmoor, the invented demo district: ``python make_larkmoor.py [FOLDER]``.

The same script and the same library versions give the same bytes.
"""

import sys
from pathlib import Path

from larkmoor_maker.district import district_files

HERE = Path(__file__).parent


def make(folder: Path) -> None:
    """Write every file of the district into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in district_files().items():
        (folder / name).write_bytes(text.encode())


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "larkmoor")
