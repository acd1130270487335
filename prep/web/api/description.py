"""The OpenAPI description of the programs' interface, and who a key stands for."""

from fastapi import Request, Response
from fastapi.openapi.utils import get_openapi
from fastapi.responses import JSONResponse

from prep.services.people.roles import Right
from prep.web.api.documents import PROBLEMS, Document
from prep.web.page_request import At
from prep.web.rights import needs, router

routes = router()


@routes.get("/api/openapi.json", include_in_schema=False)
@needs(Right.ANYONE)
def description(request: Request) -> Response:
    """Describe the programs' interface, as an OpenAPI document."""
    app = request.app
    found = get_openapi(title=app.title, version=app.version, description=app.description, routes=app.routes)
    parts = found.setdefault("components", {})
    parts["securitySchemes"] = {"key": {"type": "http", "scheme": "bearer"}}
    message = {"type": "object", "properties": {"message": {"type": "string"}}, "required": ["message"]}
    parts.setdefault("schemas", {})["Problem"] = {
        "type": "object",
        "properties": {"error": message},
        "required": ["error"],
    }
    found["security"] = [{"key": []}]
    return JSONResponse(found)


@routes.get("/api/me", responses=PROBLEMS)
@needs(Right.SIGNED_IN)
def me(here: At) -> Document:
    """Tell whose key this is, and the roles of that person."""
    return {"name": here.me.name, "roles": sorted(here.me.roles)}
