"""Our code to the letter, as a hash: what was made by other code is not taken for its own."""

from functools import cache
from hashlib import sha256
from pathlib import Path

import haulshed

#: Of the files that figures, pages and papers come from.
_SUFFIXES = (".py", ".js", ".css", ".typ")


@cache
def code_digest() -> str:
    """Return the SHA-256 of the package's source, file by file with their names."""
    package = Path(haulshed.__file__).parent
    code = sha256()
    for file in sorted(one for one in package.rglob("*") if one.suffix in _SUFFIXES):
        code.update(file.relative_to(package).as_posix().encode() + b"\0" + file.read_bytes())
    return code.hexdigest()
