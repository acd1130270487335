"""A small provider of sign-ins of our own, in this process: it answers as OpenID Connect asks, or wrongly at will."""

import base64
import hashlib
import json
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

from joserfc import jwt
from joserfc.jwk import RSAKey

CLIENT, SECRET = "prep-page", "brass tongs in the north cupboard"


def new_key() -> RSAKey:
    """Draw a key as a provider signs with."""
    return RSAKey.generate_key(2048, {"use": "sig", "alg": "RS256", "kid": secrets.token_hex(4)}, private=True)


@dataclass
class Provider:
    """What the provider knows and how it answers; a test turns what is to be wrong."""

    key: RSAKey
    issuer: str = ""
    who: str = "t-okonjo"
    name: str = "T. Okonjo"
    claims: dict[str, Any] = field(default_factory=dict)
    unsigned: bool = False
    signed_with: RSAKey | None = None
    down: bool = False
    says_no: bool = False
    reads_code_twice: bool = False
    calls_itself: str = ""
    codes: dict[str, dict[str, str]] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)

    def description(self) -> dict[str, Any]:
        """What it says of itself."""
        return {
            "issuer": self.calls_itself or self.issuer,
            "authorization_endpoint": f"{self.issuer}/authorize",
            "token_endpoint": f"{self.issuer}/token",
            "jwks_uri": f"{self.issuer}/keys",
            "response_types_supported": ["code"],
            "id_token_signing_alg_values_supported": ["RS256", "HS256", "none"],
        }

    def keys(self) -> dict[str, Any]:
        """Its public keys."""
        return {"keys": [self.key.as_dict(private=False)]}

    def authorize(self, asked: dict[str, str]) -> str:
        """Say yes for whoever is signed in there, and where the browser goes."""
        assert asked["response_type"] == "code"
        assert asked["client_id"] == CLIENT
        assert asked["code_challenge_method"] == "S256"
        assert "openid" in asked["scope"].split()
        if self.says_no:
            return f"{asked['redirect_uri']}?{urlencode({'state': asked['state'], 'error': 'access_denied'})}"
        code = secrets.token_hex(16)
        self.codes[code] = asked
        answer = {"state": asked["state"], "code": code, "iss": self.issuer}
        return f"{asked['redirect_uri']}?{urlencode(answer)}"

    def token(self, said: dict[str, str], authorization: str) -> tuple[int, dict[str, Any]]:
        """Give the token for a code, once, to the client that asked."""
        basic = base64.b64encode(f"{CLIENT}:{SECRET.replace(' ', '%20')}".encode()).decode()
        plain = base64.b64encode(f"{CLIENT}:{SECRET}".encode()).decode()
        if authorization.removeprefix("Basic ") not in (basic, plain):
            return 401, {"error": "invalid_client"}
        asked = self.codes.get(said["code"]) if self.reads_code_twice else self.codes.pop(said["code"], None)
        digest = hashlib.sha256(said["code_verifier"].encode()).digest()
        challenge = base64.urlsafe_b64encode(digest).rstrip(b"=").decode()
        if not asked or asked["code_challenge"] != challenge or asked["redirect_uri"] != said["redirect_uri"]:
            return 400, {"error": "invalid_grant"}
        now = int(time.time())
        claims = {"iss": self.issuer, "sub": self.who, "aud": CLIENT, "nonce": asked["nonce"], "iat": now,
                  "exp": now + 300, "name": self.name} | self.claims  # fmt: skip
        claims = {name: value for name, value in claims.items() if value is not None}
        return 200, {"access_token": secrets.token_hex(8), "token_type": "Bearer", "id_token": self.signed(claims)}

    def signed(self, claims: dict[str, Any]) -> str:
        """Write the token of who it is."""
        if self.unsigned:
            parts = ({"alg": "none"}, claims)
            written = (base64.urlsafe_b64encode(json.dumps(one).encode()).rstrip(b"=").decode() for one in parts)
            return f"{'.'.join(written)}."
        key = self.signed_with or self.key
        return jwt.encode({"alg": "RS256", "kid": self.key.kid}, claims, key)


class _Handler(BaseHTTPRequestHandler):
    provider: Provider

    def _answer(self, code: int, found: dict[str, Any]) -> None:
        body = json.dumps(found).encode()
        self.send_response(code)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def do_GET(self) -> None:
        """Answer a browser, or whoever asks what this is."""
        parts, mine = urlsplit(self.path), self.provider
        mine.asked.append(parts.path)
        if mine.down:
            self._answer(503, {})
        elif parts.path == "/authorize":
            self.send_response(302)
            self.send_header("Location", mine.authorize({k: v[-1] for k, v in parse_qs(parts.query).items()}))
            self.send_header("Content-Length", "0")
            self.end_headers()
        elif parts.path == "/keys":
            self._answer(200, mine.keys())
        else:
            self._answer(200, mine.description())

    def do_POST(self) -> None:
        """Answer the page that asks for a token."""
        mine = self.provider
        mine.asked.append(self.path)
        body = self.rfile.read(int(self.headers.get("Content-Length", "0"))).decode()
        said = {k: v[-1] for k, v in parse_qs(body).items()}
        self._answer(*((503, {}) if mine.down else mine.token(said, self.headers.get("Authorization", ""))))

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@contextmanager
def serving(key: RSAKey) -> Iterator[Provider]:
    """Serve the provider on this machine for a while."""
    provider = Provider(key)
    server = ThreadingHTTPServer(("127.0.0.1", 0), type("Handler", (_Handler,), {"provider": provider}))
    provider.issuer = f"http://127.0.0.1:{server.server_address[1]}"
    thread = Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield provider
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
