import pymupdf
import pytest

from soapstone.errors import SoapstoneError
from soapstone.shop.printing import at_full_scale

BARE = b"""%PDF-1.4
1 0 obj
<</Type/Catalog/Pages 2 0 R>>
endobj
2 0 obj
<</Type/Pages/Kids[3 0 R]/Count 1>>
endobj
3 0 obj
<</Type/Page/Parent 2 0 R/MediaBox[0 0 100 100]>>
endobj
xref
0 4
0000000000 65535 f
0000000009 00000 n
0000000054 00000 n
0000000105 00000 n
trailer
<</Size 4/Root 1 0 R>>
startxref
170
%%EOF"""


def scaling(pdf: bytes) -> tuple[str, str]:
    opened = pymupdf.open(stream=pdf)
    assert not opened.is_repaired
    assert opened.page_count == 1
    return opened.xref_get_key(opened.pdf_catalog(), "ViewerPreferences/PrintScaling")


def test_the_viewer_is_asked_not_to_scale() -> None:
    assert scaling(at_full_scale(BARE)) == ("name", "/None")


def test_other_preferences_stay() -> None:
    pdf = BARE.replace(b"/Pages 2 0 R>>", b"/Pages 2 0 R/ViewerPreferences<</Direction/L2R>>>>")
    shift = len(pdf) - len(BARE)
    for offset in (54, 105):
        pdf = pdf.replace(b"%010d 00000 n" % offset, b"%010d 00000 n" % (offset + shift))
    pdf = pdf.replace(b"startxref\n170", b"startxref\n%d" % (170 + shift))
    marked = at_full_scale(pdf)
    assert scaling(marked) == ("name", "/None")
    opened = pymupdf.open(stream=marked)
    assert opened.xref_get_key(opened.pdf_catalog(), "ViewerPreferences/Direction") == ("name", "/L2R")


def test_what_is_no_plain_pdf_is_refused() -> None:
    with pytest.raises(SoapstoneError, match="full scale"):
        at_full_scale(b"%PDF-1.7 nothing")
