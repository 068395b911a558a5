"""Links by which students and parents sign in."""

from __future__ import annotations

from flask import Response, request

from counterpane.studio import links as linking
from counterpane.web.asking import answer, asker, done, now, open_to, room, studio
from counterpane.web.shapes.bodies import CreatedLink, Links
from counterpane.web.shapes.requests import LinkPath, NewLinkBody, StudentPath

api = room("links")


@api.get("/students/<int:student_id>/links", responses={200: Links})
@open_to("teacher")
def links(path: StudentPath) -> Response:
    """Return the links of a student and of the student's parents."""
    return answer(Links, linking.links_of(studio(), path.student_id))


@api.post("/students/<int:student_id>/links", responses={201: CreatedLink})
@open_to("teacher")
def create_link(path: StudentPath, body: NewLinkBody) -> Response:
    """Make a link; its address is shown this once."""
    wanted = linking.WantedLink(student_id=path.student_id, **body.model_dump())
    base = request.host_url.rstrip("/")
    return answer(CreatedLink, linking.create_link(studio(), asker(), wanted, base, now()), 201)


@api.delete("/links/<int:link_id>", responses={204: None})
@open_to("teacher")
def revoke_link(path: LinkPath) -> Response:
    """Revoke a link: it opens nothing any more, and whoever came in by it is signed out."""
    linking.revoke_link(studio(), asker(), path.link_id, now())
    return done()
