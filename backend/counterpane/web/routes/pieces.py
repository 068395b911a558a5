"""Pieces: import, engraving, analysis with corrections, the printed sheet."""

from __future__ import annotations

from hashlib import sha256

from flask import Response, request
from flask_openapi3.blueprint import APIBlueprint
from flask_openapi3.models import RawModel

from counterpane.studio import corrections as correcting
from counterpane.studio import fingerings as fingers
from counterpane.studio import pieces as library
from counterpane.web.asking import EVERYONE, answer, asker, done, now, open_to, own_piece, room, studio, whom
from counterpane.web.limits import score_body
from counterpane.web.shapes.bodies import (
    Analysed,
    CorrectionsPage,
    Engraving,
    Fingering,
    PieceBody,
    Pieces,
    Sheet,
)
from counterpane.web.shapes.requests import (
    CorrectionsBody,
    EngravingQuery,
    FingeringBody,
    PiecePath,
    UploadQuery,
)

api: APIBlueprint = room("pieces")


class ScoreFile(RawModel):
    """The score file as it is."""

    mimetypes = ["application/octet-stream"]  # noqa: RUF012 - the base class declares it so


@api.get("/pieces", responses={200: Pieces})
@open_to(*EVERYONE)
def pieces() -> Response:
    """Return the pieces of the studio; students and parents get those that are assigned."""
    return answer(Pieces, library.pieces_for(studio(), asker()))


@api.post("/pieces", responses={201: PieceBody})
@open_to("teacher")
def add_piece(query: UploadQuery, raw: ScoreFile) -> Response:  # noqa: ARG001 - declares the body
    """Read a score file, analyse it and keep both."""
    return answer(PieceBody, library.import_piece(studio(), score_body(), query.name, now(), asker()), 201)


@api.get("/pieces/<int:piece_id>", responses={200: PieceBody})
@open_to(*EVERYONE)
def piece(path: PiecePath) -> Response:
    """Return one piece."""
    return answer(PieceBody, library.piece_card(studio(), own_piece(path.piece_id)))


@api.delete("/pieces/<int:piece_id>", responses={204: None})
@open_to("teacher")
def remove_piece(path: PiecePath) -> Response:
    """Take a piece out of the studio; one that was practised stays, so that the log stays whole."""
    library.remove_piece(studio(), asker(), path.piece_id, now())
    return done()


@api.get("/pieces/<int:piece_id>/analysis", responses={200: Analysed})
@open_to(*EVERYONE)
def analysis(path: PiecePath) -> Response:
    """Return the analysis with the teacher's corrections laid over it."""
    return _revalidated(library.analysis_text(studio(), own_piece(path.piece_id)))


@api.get("/pieces/<int:piece_id>/engraving", responses={200: Engraving})
@open_to(*EVERYONE)
def engraving(path: PiecePath, query: EngravingQuery) -> Response:
    """Return engraved notation of some measures and hands, sized for the asker's screen."""
    page = library.engraving(
        studio(),
        own_piece(path.piece_id),
        query.first,
        query.last,
        query.hands,
        query.width,
        query.size,
        whom(query.student) if query.student is not None else None,
    )
    return _revalidated(Engraving.model_construct(root=page).model_dump_json())


@api.get("/pieces/<int:piece_id>/corrections", responses={200: CorrectionsPage})
@open_to("teacher")
def corrections(path: PiecePath) -> Response:
    """Return the teacher's corrections, and where the analysis contradicts them."""
    return _corrections(path.piece_id)


@api.put("/pieces/<int:piece_id>/corrections", responses={200: CorrectionsPage})
@open_to("teacher")
def correct(path: PiecePath, body: CorrectionsBody) -> Response:
    """Replace the corrections of a piece and analyse it again under them."""
    wanted = [one.model_dump(mode="json") for one in body.root]
    correcting.correct(studio(), asker(), path.piece_id, wanted, now())
    return _corrections(path.piece_id)


@api.get("/pieces/<int:piece_id>/fingering", responses={200: Fingering})
@open_to(*EVERYONE)
def fingering(path: PiecePath) -> Response:
    """Return a fingering: the teacher's fingers, and a proposal for all other notes."""
    return answer(Fingering, fingers.fingering(studio(), own_piece(path.piece_id)))


@api.put("/pieces/<int:piece_id>/fingering", responses={200: Fingering})
@open_to("teacher")
def write_fingering(path: PiecePath, body: FingeringBody) -> Response:
    """Replace the teacher's fingers; the rest is proposed round them."""
    return answer(Fingering, fingers.write_fingering(studio(), asker(), path.piece_id, body.fingers, now()))


@api.get("/pieces/<int:piece_id>/sheet", responses={200: Sheet})
@open_to(*EVERYONE)
def sheet(path: PiecePath) -> Response:
    """Return the data of the printed analysis sheet."""
    return answer(Sheet, library.sheet(studio(), own_piece(path.piece_id)))


def _corrections(piece_id: int) -> Response:
    page = CorrectionsPage.model_validate(correcting.corrections(studio(), piece_id))
    return Response(page.model_dump_json(), mimetype="application/json")


def _revalidated(text: str) -> Response:
    """Answer with an entity tag, so that an unchanged page costs one short exchange."""
    response = Response(text, mimetype="application/json")
    response.set_etag(sha256(text.encode()).hexdigest()[:32])
    response.headers["Cache-Control"] = "private, no-cache"
    response.make_conditional(request)
    return response
