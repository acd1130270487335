"""Asking the school's own provider of sign-ins who somebody is: OpenID Connect, the authorization code with PKCE.

Sources: OpenID Connect Core 1.0 (3.1, the code flow), OpenID Connect Discovery 1.0 (4), RFC 7636 (PKCE), RFC 9207 (the
answer names its issuer). Signatures and claims are checked by Authlib and joserfc.
"""

import os
import time
from collections import OrderedDict
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum
from importlib.util import find_spec
from threading import Lock
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from prep.errors import PrepError, Refused
from prep.services.people.people import hashed

if TYPE_CHECKING:
    from collections.abc import Iterator

ISSUER, CLIENT, SECRET = "PREP_OPENID_ISSUER", "PREP_OPENID_CLIENT_ID", "PREP_OPENID_CLIENT_SECRET"
SIGNED_BY = ("RS256", "RS384", "RS512", "PS256", "PS384", "PS512", "ES256", "ES384", "ES512", "EdDSA", "Ed25519")
"""Signatures by a key of the provider's own: none that the client's secret, or nobody, could have made."""
ANSWERS_S, KNOWN_S, DOWN_S, LEEWAY_S, WAITS_S = 6, 3600, 10, 60, 600
SILENT = "The school’s sign-in does not answer now. Use your pass phrase, or try again in a while."
UNSOUND = "The school’s sign-in gave an answer that cannot be trusted; nobody was let in. Tell the office."
STALE = "This sign-in was begun elsewhere, or more than ten minutes ago. Begin again."


class NotTrusted(Refused):
    """An answer of the provider that is not let in by; `why` is for the history."""

    def __init__(self, sentence: str, why: str) -> None:
        super().__init__(sentence)
        self.why = why


@dataclass(frozen=True, slots=True)
class OpenIdSettings:
    """Which provider the school has, and as what it knows this page."""

    issuer: str
    client: str
    secret: str = field(default="", repr=False)


@dataclass(frozen=True, slots=True)
class SchoolAccount:
    """Who somebody is for the school's provider: `subject` is for ever one person's, `name` is only shown."""

    issuer: str
    subject: str
    name: str = ""


class Purpose(StrEnum):
    """What a sign-in at the school's provider was begun for."""

    COME_IN = "come in"
    TAKE_UP = "take up an invitation"
    LINK = "link"


@dataclass(frozen=True, slots=True)
class AfterSignIn:
    """What is done once the provider has answered: `about` is where to go, the invitation or the session's key."""

    purpose: Purpose
    about: str = ""


@dataclass(frozen=True, slots=True)
class AskedProvider:
    """A question to the provider that waits for its answer, in one browser."""

    errand: AfterSignIn
    visitor: str
    nonce: str
    verifier: str
    back: str
    until: float


def openid_settings() -> OpenIdSettings | None:
    """Read the school's provider from the environment; None where there is none. Raises PrepError."""
    issuer, client, secret = (os.environ.get(name, "").strip() for name in (ISSUER, CLIENT, SECRET))
    if not issuer and not client:
        return None
    if not issuer or not client:
        raise PrepError(f"{ISSUER} and {CLIENT} go together; set {CLIENT if issuer else ISSUER} too, or neither.")
    parts = urlsplit(issuer)
    near = parts.hostname in ("localhost", "127.0.0.1", "::1")
    if not (parts.scheme == "https" or (parts.scheme == "http" and near)) or not parts.netloc or parts.query:
        raise PrepError(f"{ISSUER} is the provider's address, such as https://login.school.example; not {issuer[:80]}.")
    return OpenIdSettings(issuer, client, secret)


def openid_installed() -> bool:
    """Tell whether the packages are there by which a provider is asked."""
    return all(find_spec(name) for name in ("authlib", "joserfc", "requests"))


@dataclass
class SignInQuestions:
    """Keeps the questions that wait for an answer: each is answered once, in its own browser, within ten minutes."""

    most: int = 5_000
    most_from: int = 200
    clock: Callable[[], float] = time.monotonic
    _of: "OrderedDict[str, tuple[AskedProvider, str]]" = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    def remember(self, state: str, asked: AskedProvider, address: str) -> None:
        """Keep a question; the oldest of an address, or of all, is forgotten where there are too many."""
        with self._lock:
            now = self.clock()
            for old in [key for key, (one, _) in self._of.items() if one.until < now]:
                del self._of[old]
            of_address = [key for key, (_, whose) in self._of.items() if whose == address]
            for old in of_address[: max(0, len(of_address) + 1 - self.most_from)]:
                del self._of[old]
            while len(self._of) >= self.most:
                self._of.popitem(last=False)
            self._of[state] = (asked, address)

    def take(self, state: str, visitor: str) -> AskedProvider:
        """Find the question that an answer is to, and forget it. Raises NotTrusted."""
        with self._lock:
            asked, _ = self._of.get(state, (None, ""))
            if asked is None or asked.visitor != hashed(visitor):
                raise NotTrusted(STALE, "an answer of the school's sign-in to no question of this browser")
            del self._of[state]
        if asked.until < self.clock():
            raise NotTrusted(STALE, "an answer of the school's sign-in that came too late")
        return asked


class SchoolProvider:
    """The school's provider of sign-ins: sends a browser there, and reads who came back."""

    def __init__(self, settings: OpenIdSettings) -> None:
        self.settings = settings
        self.waiting = SignInQuestions()
        self._known: tuple[float, dict[str, Any]] | None = None
        self._keys: dict[str, Any] | None = None
        self._down = float("-inf")

    def ask(self, errand: AfterSignIn, visitor: str, back: str, address: str) -> str:
        """Begin a sign-in, and give the provider's page to open. `back` is where it sends the browser. Raises Refused.

        `visitor` is the secret of the browser that asks: only there will the answer count.
        """
        from authlib.common.security import generate_token

        about, verifier, nonce, state = self._about(), generate_token(64), generate_token(43), generate_token(43)
        with self._session(back) as session:
            url, _ = session.create_authorization_url(
                about["authorization_endpoint"], state=state, nonce=nonce, code_verifier=verifier
            )
        until = self.waiting.clock() + WAITS_S
        self.waiting.remember(state, AskedProvider(errand, hashed(visitor), nonce, verifier, back, until), address)
        return str(url)

    def account(self, asked: AskedProvider, said: dict[str, str]) -> SchoolAccount:
        """Read who came back from the provider with its answer to a question. Raises NotTrusted."""
        if said.get("iss", self.settings.issuer) != self.settings.issuer:
            raise NotTrusted(UNSOUND, "the school's sign-in names another issuer")
        if said.get("error") or not said.get("code"):
            why = "".join(c for c in said.get("error", "no code")[:60] if c.isprintable())
            raise NotTrusted("The school’s sign-in did not let you in.", f"the school's sign-in said: {why}")
        return self._account(self._token(said["code"], asked), asked)

    def _session(self, back: str) -> Any:
        from authlib.integrations.requests_client import OAuth2Session

        how = self._about().get("token_endpoint_auth_methods_supported") or ["client_secret_basic"]
        posts = "client_secret_basic" not in how and "client_secret_post" in how
        method = "none" if not self.settings.secret else "client_secret_post" if posts else "client_secret_basic"
        return OAuth2Session(
            self.settings.client,
            self.settings.secret or None,
            token_endpoint_auth_method=method,
            scope="openid profile",
            redirect_uri=back,
            code_challenge_method="S256",
            default_timeout=ANSWERS_S,
        )

    def _about(self) -> dict[str, Any]:
        """Read what the provider says of itself, kept for an hour. Raises Refused, NotTrusted."""
        now = time.monotonic()
        if self._known is not None and now - self._known[0] < KNOWN_S:
            return self._known[1]
        if now - self._down < DOWN_S:  # nobody waits for it in vain again so soon
            raise NotTrusted(SILENT, "the school's sign-in does not answer")
        try:
            found = self._fetch(f"{self.settings.issuer.rstrip('/')}/.well-known/openid-configuration")
        except NotTrusted:
            self._down = time.monotonic()
            raise
        if found.get("issuer") != self.settings.issuer:
            raise NotTrusted(UNSOUND, f"{ISSUER} is {self.settings.issuer}, but it calls itself {found.get('issuer')}")
        for name in ("authorization_endpoint", "token_endpoint", "jwks_uri"):
            if urlsplit(str(found.get(name, ""))).scheme not in ("https", urlsplit(self.settings.issuer).scheme):
                raise NotTrusted(UNSOUND, f"the school's sign-in names no {name} over TLS")
        self._known, self._keys = (now, found), None
        return found

    def _fetch(self, url: str) -> dict[str, Any]:
        import requests

        with _answering():
            answer = requests.get(url, timeout=ANSWERS_S, headers={"Accept": "application/json"})
            answer.raise_for_status()
            found = answer.json()
        if not isinstance(found, dict):
            raise NotTrusted(UNSOUND, f"{url} is no description of a sign-in")
        return found

    def _token(self, code: str, asked: AskedProvider) -> dict[str, Any]:
        from authlib.integrations.base_client import OAuthError

        try:
            with _answering(), self._session(asked.back) as session:
                token = session.fetch_token(
                    self._about()["token_endpoint"],
                    code=code,
                    code_verifier=asked.verifier,
                    grant_type="authorization_code",
                    allow_redirects=False,
                )
        except OAuthError as problem:
            raise NotTrusted(UNSOUND, f"the school's sign-in took no code: {str(problem)[:80]}") from None
        return dict(token)

    def _account(self, token: dict[str, Any], asked: AskedProvider) -> SchoolAccount:
        from authlib.oidc.core import CodeIDToken
        from joserfc.errors import JoseError

        try:
            signed = self._read(str(token.get("id_token", "")))
            one = {"essential": True}
            wanted = {"iss": {**one, "value": self.settings.issuer}, "aud": {**one, "value": self.settings.client},
                      "sub": one, "nonce": one}  # fmt: skip
            params = {
                "nonce": asked.nonce,
                "client_id": self.settings.client,
                "access_token": token.get("access_token"),
            }
            claims = CodeIDToken(signed.claims, signed.header, wanted, params)
            claims.validate(leeway=LEEWAY_S)
        except (JoseError, ValueError, TypeError, KeyError) as problem:
            why = f"{type(problem).__name__} {problem}"[:100]
            raise NotTrusted(UNSOUND, f"the school's sign-in gave a token that does not hold: {why}") from None
        subject = claims["sub"]
        if not isinstance(subject, str) or not 0 < len(subject) <= 255 or not subject.isprintable():
            raise NotTrusted(UNSOUND, "the school's sign-in named nobody")
        name = str(claims.get("name") or claims.get("preferred_username") or "")
        return SchoolAccount(self.settings.issuer, subject, "".join(c for c in name[:80] if c.isprintable()))

    def _read(self, id_token: str) -> Any:
        """Check the signature of a token by the provider's keys; asked for once more where none of them fits."""
        from joserfc import jwt
        from joserfc.errors import JoseError
        from joserfc.jwk import KeySet
        from joserfc.jws import JWSRegistry

        offered = self._about().get("id_token_signing_alg_values_supported") or ["RS256"]
        registry = JWSRegistry(algorithms=[one for one in SIGNED_BY if one in offered], strict_check_header=False)
        fresh = self._keys is None
        keys = self._keys = self._fetch(self._about()["jwks_uri"]) if self._keys is None else self._keys
        try:
            return jwt.decode(id_token, KeySet.import_key_set(keys), registry=registry)  # type: ignore[arg-type]
        except (JoseError, ValueError):
            if fresh:
                raise
        self._keys = self._fetch(self._about()["jwks_uri"])
        return jwt.decode(id_token, KeySet.import_key_set(self._keys), registry=registry)  # type: ignore[arg-type]


@contextmanager
def _answering() -> "Iterator[None]":
    """Say in one sentence that the provider does not answer. Raises NotTrusted."""
    import requests

    try:
        yield
    except (requests.RequestException, ValueError) as problem:
        raise NotTrusted(SILENT, f"the school's sign-in does not answer: {type(problem).__name__}") from None
