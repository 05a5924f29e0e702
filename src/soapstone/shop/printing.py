"""Asks the viewer to print a PDF as large as it is: an incremental update (ISO 32000-1, 7.5.6)."""

import re

from soapstone.errors import SoapstoneError

_PREFERENCE = b"/PrintScaling/None"
_ROOT = re.compile(rb"/Root (\d+) 0 R")
_START = re.compile(rb"startxref\s+(\d+)\s+%%EOF\s*$")


def at_full_scale(pdf: bytes) -> bytes:
    """The same PDF with `PrintScaling` none among its viewer preferences: no dialog shrinks it to fit.

    Raises
    ------
    SoapstoneError
        When the PDF is not laid out with a plain cross-reference table.
    """
    start, trailer = _START.search(pdf), pdf.rfind(b"trailer")
    root = _ROOT.search(pdf, max(trailer, 0))
    if start is None or trailer < 0 or root is None:
        raise SoapstoneError(
            "a sheet cannot be marked to print at full scale: its table of objects is missing"
        )
    number = int(root[1])
    catalogue = _with_preference(_object(pdf, number))
    body = pdf if pdf.endswith(b"\n") else pdf + b"\n"
    offset = len(body)
    added = b"%d 0 obj\n%s\nendobj\n" % (number, catalogue)
    table = b"xref\n%d 1\n%010d 00000 n \n" % (number, offset)
    dictionary = pdf[trailer + len(b"trailer") : start.start()].strip()
    follow = dictionary[:-2] + b"/Prev %s>>" % start[1]
    ending = b"trailer\n%s\nstartxref\n%d\n%%%%EOF\n" % (follow, offset + len(added))
    return body + added + table + ending


def _object(pdf: bytes, number: int) -> bytes:
    head = re.search(rb"(?:^|\s)%d 0 obj\s*" % number, pdf)
    assert head is not None
    return pdf[head.end() : pdf.index(b"endobj", head.end())].strip()


def _with_preference(catalogue: bytes) -> bytes:
    present = re.search(rb"/ViewerPreferences\s*<<", catalogue)
    if present is not None:
        return catalogue[: present.end()] + _PREFERENCE + catalogue[present.end() :]
    return catalogue[:-2] + b"/ViewerPreferences<<" + _PREFERENCE + b">>>>"
