"""Makes the two Loomwright Sans files from DejaVu Sans 2.37 (Debian package fonts-dejavu-core).

    pip install fonttools==4.68.0
    python subset.py /usr/share/fonts/truetype/dejavu

The licence lets the fonts be changed if they are renamed; LICENSE.txt beside this file is that licence.
"""

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

RANGES = [
    (0x20, 0x7E),      # ASCII
    (0xA0, 0xFF),      # Latin-1
    (0x100, 0x17F),    # Latin Extended-A
    (0x218, 0x21B),    # comma-below letters of Romanian
    (0x370, 0x3FF),    # Greek
    (0x400, 0x45F),    # Cyrillic
    (0x2010, 0x2015),  # dashes
    (0x2018, 0x201E),  # quotation marks
    (0x2190, 0x2195),  # arrows
    (0x2460, 0x2468),  # circled figures
]
SINGLE = [
    0x2020, 0x2022, 0x2026, 0x2030, 0x2032, 0x2033, 0x2039, 0x203A, 0x2044, 0x2070, 0x2074, 0x207A, 0x207B, 0x2080,
    0x2081, 0x2082, 0x20AC, 0x2116, 0x2122, 0x2126, 0x21C4, 0x21D2, 0x2205, 0x2206, 0x2211, 0x2212, 0x221A, 0x221E,
    0x2220, 0x2225, 0x2248, 0x2260, 0x2264, 0x2265, 0x23DA, 0x25A0, 0x25A1, 0x25B2, 0x25B6, 0x25BC, 0x25C0, 0x25CB,
    0x25CF, 0x26A0, 0x26A1, 0x2713, 0x2717, 0xFFFD,
]
FAMILY = "Loomwright Sans"


def make(source: Path, style: str, out: Path) -> None:
    options = subset.Options()
    options.layout_features = []
    options.hinting = False
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    options.notdef_outline = True
    options.drop_tables += ["FFTM", "GPOS", "GSUB", "GDEF", "kern"]
    font = TTFont(source, recalcTimestamp=False)
    subsetter = subset.Subsetter(options)
    wanted = [c for low, high in RANGES for c in range(low, high + 1)] + SINGLE
    subsetter.populate(unicodes=wanted)
    subsetter.subset(font)
    postscript = f"{FAMILY.replace(' ', '')}-{style}"
    names = {1: FAMILY, 2: style, 3: f"{postscript} from DejaVu Sans 2.37", 4: f"{FAMILY} {style}", 6: postscript}
    for record in font["name"].names:
        if record.nameID in names:
            record.string = names[record.nameID]
    font.save(out)


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    here = Path(__file__).parent
    make(folder / "DejaVuSans.ttf", "Regular", here / "LoomwrightSans-Regular.ttf")
    make(folder / "DejaVuSans-Bold.ttf", "Bold", here / "LoomwrightSans-Bold.ttf")
