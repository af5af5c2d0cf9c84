"""An identity provider: it signs tokens with keys of its own and publishes the public halves over HTTP."""

from __future__ import annotations

import base64
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import jwt
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, SECP384R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import generate_private_key as generate_rsa
from jwt.algorithms import ECAlgorithm, OKPAlgorithm, RSAAlgorithm

ISSUER, AUDIENCE = "https://login.example.com/", "rates"
WRITERS: dict[str, Any] = {"RS": RSAAlgorithm, "PS": RSAAlgorithm, "ES": ECAlgorithm, "Ed": OKPAlgorithm}


def new_private_key(algorithm: str, bits: int = 2048) -> Any:
    """A private key for an algorithm."""
    match algorithm:
        case "ES256":
            return generate_private_key(SECP256R1())
        case "ES384":
            return generate_private_key(SECP384R1())
        case "EdDSA":
            return Ed25519PrivateKey.generate()
    return generate_rsa(public_exponent=65537, key_size=bits)


def public_jwk(name: str, algorithm: str, private: Any, **more: Any) -> dict[str, Any]:
    """The public half as a key set lists it."""
    made: dict[str, Any] = json.loads(WRITERS[algorithm[:2]].to_jwk(private.public_key()))
    return {**made, "kid": name, "use": "sig", **more}


@dataclass
class Provider:
    """An identity provider with a key for each algorithm, named after it.

    Attributes:
        url: where it publishes its key set.
        listed: the key set, as it is published.
        broken: what it answers in place of the set: a status and a body.
        asked: how often it was asked.
    """

    url: str = ""
    private: dict[str, Any] = field(default_factory=dict)
    listed: list[dict[str, Any]] = field(default_factory=list)
    broken: tuple[int, bytes] | None = None
    asked: int = 0

    def publish(self, name: str, algorithm: str, **more: Any) -> None:
        """Make a key and list it."""
        self.private[name] = new_private_key(algorithm)
        self.listed.append(public_jwk(name, algorithm, self.private[name], **more))

    def token(self, algorithm: str = "RS256", *, key: str = "", header: dict[str, Any] | None = None, **claims: Any) -> str:
        """A signed token; a claim that is None is left out."""
        name = key or algorithm
        now = int(datetime.now(UTC).timestamp())
        said = {
            "iss": ISSUER, "aud": AUDIENCE, "sub": "u-1", "iat": now, "exp": now + 600, "scope": "quote rates:read",
            "regions": ["kestrel-range"], **claims,
        }
        said = {claim: value for claim, value in said.items() if value is not None}
        given = {"kid": name, "typ": "at+jwt", **(header or {})}
        given = {field: value for field, value in given.items() if value is not None}
        return jwt.encode(said, self.private[name], algorithm, headers=given)


def unsigned(header: dict[str, Any], claims: dict[str, Any], signature: bytes = b"") -> str:
    """A token put together by hand."""
    parts = (json.dumps(header).encode(), json.dumps(claims).encode(), signature)
    return ".".join(base64.urlsafe_b64encode(part).rstrip(b"=").decode() for part in parts)


@contextmanager
def identity_provider(*algorithms: str) -> Iterator[Provider]:
    """A provider that listens on a free port of this machine."""
    provider = Provider()
    for algorithm in algorithms:
        provider.publish(algorithm, algorithm)

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            provider.asked += 1
            status, body = provider.broken or (200, json.dumps({"keys": provider.listed}).encode())
            self.send_response(status)
            self.send_header("Content-Length", str(len(body)))
            if status == 302:
                self.send_header("Location", f"{provider.url}/elsewhere")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: Any) -> None:  # noqa: A002  # the name is the base class's
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    provider.url = f"http://127.0.0.1:{server.server_port}/keys"
    serving = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    serving.start()
    try:
        yield provider
    finally:
        server.shutdown()
        serving.join()
        server.server_close()
