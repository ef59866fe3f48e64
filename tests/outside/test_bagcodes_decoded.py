"""Bag codes out of real symbols: drawn and decoded by zxing-cpp, in each of the ways it can give their text."""

from datetime import date

import pytest
import zxingcpp

from shared.bag_code_reader import parse_bag_code

TODAY = date(2026, 11, 25)
GS, RS, EOT = "\x1d", "\x1e", "\x04"
ENVELOPE = f"[)>{RS}06{GS}PHS-0412{GS}1PWB-H4-200{GS}Q250{GS}1TNG88121{GS}9D2631{RS}{EOT}"
MODES = [zxingcpp.TextMode.Plain, zxingcpp.TextMode.HRI, zxingcpp.TextMode.Escaped, zxingcpp.TextMode.ECI]


def decoded(text: str, symbol: zxingcpp.BarcodeFormat, mode: zxingcpp.TextMode, **how: object) -> str:
    picture = zxingcpp.write_barcode_to_image(zxingcpp.create_barcode(text, symbol, **how), scale=4)
    barcodes = zxingcpp.read_barcodes(picture, text_mode=mode)
    assert len(barcodes) == 1
    return barcodes[0].text


@pytest.mark.parametrize("mode", MODES, ids=str)
@pytest.mark.parametrize("symbol", [zxingcpp.BarcodeFormat.DataMatrix, zxingcpp.BarcodeFormat.QRCode], ids=str)
def test_it_reads_an_envelope_out_of_a_symbol(symbol: zxingcpp.BarcodeFormat, mode: zxingcpp.TextMode) -> None:
    bag = parse_bag_code(decoded(ENVELOPE, symbol, mode), TODAY)
    assert (bag.customer_part, bag.supplier_part, bag.quantity) == ("HS-0412", "WB-H4-200", 250)
    assert (bag.lot, bag.made) == ("NG88121", date(2026, 7, 27))


@pytest.mark.parametrize("mode", MODES, ids=str)
@pytest.mark.parametrize("symbol", [zxingcpp.BarcodeFormat.DataMatrix, zxingcpp.BarcodeFormat.Code128], ids=str)
def test_it_reads_gs1_out_of_a_symbol(symbol: zxingcpp.BarcodeFormat, mode: zxingcpp.TextMode) -> None:
    text = decoded("(01)09521234543213(10)26A7(37)25(17)280331", symbol, mode, gs1=True)
    bag = parse_bag_code(text, TODAY)
    assert (bag.gtin, bag.lot, bag.quantity, bag.expires) == ("09521234543213", "26A7", 25, date(2028, 3, 31))
