"""The address of the desk as phones reach it, and an address as a square that a camera reads."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest


def network_base(request: HttpRequest) -> str:
    """The desk's address as phones reach it, or an empty text where they cannot."""
    if not settings.IS_ON_NETWORK:
        return ""
    host = settings.NETWORK_HOST or request.get_host().rpartition(":")[0]
    return f"http{'s' if settings.HTTPS_FINGERPRINT else ''}://{host}:{request.get_port()}"


def qr_of(address: str) -> str:
    """An address as a square of modules to be read by a camera: SVG, black on white.

    References
    ----------
    ISO/IEC 18004, QR code.
    """
    import segno

    drawn: str = segno.make(address, micro=False, error="m").svg_inline(
        omitsize=True, svgclass=None, lineclass=None, border=4, light="#ffffff"
    )
    return drawn
