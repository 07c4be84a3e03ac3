"""TLS by certificate and key of the settings; a renewed certificate is taken without a restart."""

import ssl
from pathlib import Path

from service.settings import Settings

CIPHERS = "ECDHE+AESGCM:ECDHE+CHACHA20"  # of TLS 1.2 (RFC 9325, 4.2; RFC 7905); OpenSSL sets those of TLS 1.3 apart


class Certificate:
    """The context of all connections, and the files it was made from."""

    def __init__(self, certificate: Path, key: Path) -> None:
        self._files = (certificate, key)
        self._newest = self._newest_change()
        self.context = self._made()

    def refresh(self) -> None:
        """Use files that changed, for connections from now on; OSError, and the former ones, when they are no pair."""
        newest = self._newest_change()
        if newest != self._newest:
            self.context = self._made()
            self._newest = newest

    def _newest_change(self) -> float:
        return max(path.stat().st_mtime for path in self._files)

    def _made(self) -> ssl.SSLContext:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        context.set_ciphers(CIPHERS)
        context.set_alpn_protocols(["http/1.1"])
        context.load_cert_chain(*self._files)
        return context


def certificate_of(settings: Settings) -> Certificate | None:
    """The certificate, None where the settings name none; OSError says which files cannot be used."""
    if settings.tls_certificate is None or settings.tls_key is None:
        return None
    try:
        return Certificate(settings.tls_certificate, settings.tls_key)
    except OSError as fault:
        names = f"{settings.tls_certificate} and {settings.tls_key}"
        raise OSError(f"{names} are no certificate with its key: {fault}") from fault
