"""Where the folders lie that travel with the program: migrations and sample data."""

from pathlib import Path

from rvsmlog.errors import StoreError

_PACKAGE = Path(__file__).parent


def shipped(name: str) -> Path:
    """Give a folder that travels with the program.

    An installed wheel carries it inside the package; a checkout has it at its top.

    Raises
    ------
    StoreError
        When the installation lacks it.
    """
    for folder in (_PACKAGE / "_shipped" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise StoreError(f"the installation lacks the folder {name}", "install rvsmlog anew")
