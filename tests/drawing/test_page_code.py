"""The page code: what is written is read, and a wrong bit is noticed."""

from __future__ import annotations

import itertools

import pytest

from pacewright.drawing.page_code import BITS, PageCode, format_code, parse_code

CODES = [PageCode(1, 1, paper, rows, page) for paper, rows, page in ((1, 23, 1), (2, 21, 255), (6, 15, 0))]
CODES += [PageCode(2, 1, 1, 10, 1, card=1), PageCode(2, 1, 3, 15, 4, card=255)]
CODES += [PageCode(3, 1, 1, 1, 1, card=24), PageCode(3, 1, 3, 1, 1, card=0)]


@pytest.mark.parametrize("code", CODES)
def test_a_code_is_read_as_it_was_written(code):
    assert parse_code(format_code(code)) == code


@pytest.mark.parametrize("code", CODES)
def test_up_to_three_wrong_bits_are_always_noticed(code):
    # ITU-T V.41: the polynomial finds every error of up to three bits in blocks of this length.
    bits = format_code(code)
    for wrong in itertools.chain(*(itertools.combinations(range(BITS), n) for n in (1, 2, 3))):
        assert parse_code([bit ^ (at in wrong) for at, bit in enumerate(bits)]) is None


def test_a_page_beyond_those_that_a_code_can_count_has_no_number():
    read = parse_code(format_code(PageCode(1, 1, 1, 23, 256)))
    assert read is not None and read.page == 0


def test_a_check_is_that_of_the_standard():
    # The check value of "123456789" under CRC-16 of ITU-T V.41 with its register at zero is 31C3
    # (Greg Cook, Catalogue of parametrised CRC algorithms, CRC-16/XMODEM): the polynomial is the standard's.
    import binascii

    assert binascii.crc_hqx(b"123456789", 0) == 0x31C3
