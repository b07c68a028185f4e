"""
Damage files of every kind, led by what code they reach, until something but our error comes out.

Not part of the tests: it needs atheris (``pip install atheris``) and as much time as it is given::

    nice -n 19 python tests/fuzz_readers.py 20 fuzz-finds

runs 20 minutes in the folder fuzz-finds, goes on from what an earlier run found there, and prints
how many files it read. A file that ends the program is left in the folder as crash-*, one that
hangs for five minutes as timeout-*; its first byte is the kind, the rest the file. Further words
are the kinds to damage, all of them where none is given.
"""

import sys
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parent))

with atheris.instrument_imports(include=["haulshed"]):
    from fuzzed_readers import read_damaged, seeds

_LONGEST_BYTES = 250_000
_RSS_LIMIT_MB = 4096
_TIMEOUT_S = 300


def main() -> None:
    """Fuzz for as many minutes as the first argument says, in the folder that the second names."""
    minutes, folder, *only = sys.argv[1:]
    kinds = sorted(seeds())
    root = Path(folder)
    corpus, scratch = root / "corpus", root / "scratch"
    for needed in (corpus, scratch):
        needed.mkdir(parents=True, exist_ok=True)
    for number, kind in enumerate(kinds):
        if not only or kind in only:
            (corpus / f"seed-{kind}").write_bytes(bytes([number]) + seeds()[kind])

    def one_input(content: bytes) -> None:
        kind = kinds[content[0] % len(kinds)] if content else kinds[0]
        if not only or kind in only:
            read_damaged(kind, content[1:], scratch)

    options = (
        *(f"-max_total_time={60 * float(minutes):.0f}", f"-max_len={_LONGEST_BYTES}"),
        *(f"-rss_limit_mb={_RSS_LIMIT_MB}", f"-timeout={_TIMEOUT_S}", "-len_control=0"),
        *("-print_final_stats=1", f"-artifact_prefix={root}/", str(corpus)),
    )
    atheris.Setup([sys.argv[0], *options], one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
