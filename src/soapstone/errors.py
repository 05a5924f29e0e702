"""The one family of exceptions.

    SoapstoneError
    ├── QuantityError   (also ValueError)   a text that is no quantity
    ├── JobError                            a job file that cannot be read or makes no sense
    ├── LooseError                          something can move that must not
    └── GeometryError   (also ValueError)   a shape that cannot be made

A bad *design* is not an error but a `Finding`; an error means that no answer could be computed.
"""


class SoapstoneError(Exception):
    """Base of every error a user can meet: what, where and the way out.

    Parameters
    ----------
    what : str
        What is so, in the trade's words.
    where : str, optional
        The thing or place it is about (`job.yaml:12 members.side_left.stock`).
    remedy : str, optional
        The way out.
    """

    def __init__(self, what: str, *, where: str = "", remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head}; {self.remedy}" if self.remedy else head


class QuantityError(SoapstoneError, ValueError):
    """A text that cannot be read as the quantity asked for; always quotes the text."""


class JobError(SoapstoneError):
    """A job that cannot be read; carries every fault found, one line each."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class LooseError(SoapstoneError):
    """Something can move freely; says what, in which direction, and what would hold it."""


class GeometryError(SoapstoneError, ValueError):
    """A shape that cannot be made; names the parts."""
