"""One's own page: devices, pass phrase, PIN, calendar, programs' keys."""

from fastapi import Response

from prep.errors import PrepError
from prep.services.people import people, sign_in
from prep.services.people.roles import SCOPES, Right
from prep.web.access.school_sign_in import link_form
from prep.web.forms import Choice, Field, WebForm
from prep.web.page_request import At, NextPage
from prep.web.rights import needs, router

routes = router()


def _phrase_form() -> WebForm:
    old = Field("old", "Pass phrase now", "password", required=True, auto="current-password")
    new = Field("new", "New pass phrase", "password", required=True, auto="new-password")
    return WebForm("/me/phrase", (old, new), "Change it", bench=False)


def _pin_form() -> WebForm:
    hint = "4 to 8 digits; by it you say on the bench’s tablet who you are."
    field = Field("digits", "New PIN", "password", hint=hint, required=True, mode="numeric", auto="new-password")
    return WebForm("/me/pin", (field,), "Set it", bench=False)


def _token_form() -> WebForm:
    scopes = tuple(Choice(name, name) for name in SCOPES)
    name = Field("name", "For which program", required=True)
    return WebForm("/me/keys", (name, Field("scopes", "It may", "ticks", choices=scopes)), "Make a key", bench=False)


@routes.get("/me", include_in_schema=False)
@needs(Right.SIGNED_IN)
def me(here: At) -> Response:
    """Show one's own page: devices, pass phrase, PIN, calendar, programs' keys."""
    return here.show(
        "me.html",
        sessions=sign_in.sessions_of(here.db, here.me.id),
        tokens=sign_in.tokens_of(here.db, here.me.id),
        phrase=_phrase_form(),
        link=link_form() if here.request.app.state.school_provider else None,
        pin=_pin_form(),
        token=_token_form(),
    )


@routes.post("/me/phrase", include_in_schema=False)
@needs(Right.SIGNED_IN)
def change_phrase(here: At) -> Response:
    """Change one's pass phrase."""

    def do() -> NextPage:
        guesses = here.request.app.state.guesses
        sign_in.change_phrase(here.db, here.me, here.typed["old"], here.typed["new"], here.key, guesses)
        return NextPage("/me", "Your pass phrase is changed; you are signed out everywhere else.")

    return here.answer(_phrase_form(), "Change your pass phrase", do)


@routes.post("/me/pin", include_in_schema=False)
@needs(Right.SIGNED_IN)
def set_pin(here: At) -> Response:
    """Set one's PIN."""

    def do() -> NextPage:
        people.set_pin(here.db, here.me.id, here.typed["digits"])
        return NextPage("/me", "Your PIN is set.")

    return here.answer(_pin_form(), "Set your PIN", do)


@routes.post("/me/sessions/{key}/end", include_in_schema=False)
@needs(Right.SIGNED_IN)
def end_session(here: At, key: str) -> Response:
    """End one of one's own sessions."""
    sign_in.sign_out(here.db, here.me, key)
    return here.go("/me", "That device is signed out.")


@routes.post("/me/feed", include_in_schema=False)
@needs(Right.SIGNED_IN)
def new_feed(here: At) -> Response:
    """Make a new address for one's own calendar."""
    me = here.me.id
    secret = here.made_once(
        lambda: people.new_feed(here.db, me, here.by, here.address), lambda: people.feed_made_before(here.db)
    )
    base = f"{here.request.url.scheme}://{here.request.headers.get('host', '')}"
    note = "Give it to your calendar program. It is shown this once; a new one ends the one before."
    address = f"{base}/feed/{secret}.ics"
    return here.show("secret.html", title="Your calendar’s address", secret=address, note=note, back="/me")


@routes.post("/me/keys", include_in_schema=False)
@needs(Right.SIGNED_IN)
def new_key(here: At) -> Response:
    """Make a key for a program."""
    typed = here.typed
    try:
        secret = here.made_once(
            lambda: people.new_token(here.db, here.me.id, typed["name"], typed.all("scopes"), here.by, here.address),
            lambda: people.token_made_before(here.db),
        )
    except PrepError as problem:
        form = _token_form().filled(typed.texts).wrong(problem)
        return here.show("form.html", 422, title="A key for a program", form=form, back="/me")
    note = "It goes into the header “Authorization: Bearer KEY”. It is shown this once."
    return here.show("secret.html", title=f"Key for {typed['name']}", secret=secret, note=note, back="/me")


@routes.post("/me/keys/{key}/end", include_in_schema=False)
@needs(Right.SIGNED_IN)
def end_key(here: At, key: str) -> Response:
    """End a program's key."""
    people.end_token(here.db, here.me.id, key, here.by, here.address)
    return here.go("/me", "That key no longer opens anything.")
