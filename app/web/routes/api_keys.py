"""Keys of programs that read the record: issued, shown once, revoked."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.api_keys import ApiKeyForm
from app.forms.base import Form
from app.queries.api_keys import list_keys
from app.services.api_keys import issue_key, new_key, revoke_key
from app.services.sign_in import token_hash
from app.services.write import Refused
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep, writing
from app.web.render import page
from app.workflow.permissions import Verb

HERE = "/api-keys"
router = APIRouter(prefix=HERE, dependencies=[may(Verb.ISSUE_KEY)])


@router.get("")
def list_all(request: Request, db: DatabaseDep) -> Response:
    return _page(request, db, ApiKeyForm.showing())


@router.post("")
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form, key = ApiKeyForm(sent.fields), new_key()
    if not form.ok:
        return _page(request, db, form, 422)
    try:
        with writing(request, sent) as tx:
            issued = issue_key(tx, form.name, key)
    except Refused as no:
        form.wrong(no.field or "form", no.message)
        return _page(request, db, form, 409)
    # The answer itself shows it: whoever follows a link later must not see it again.
    is_new = issued.key_hash == token_hash(key)
    return _page(request, db, ApiKeyForm.showing(), key=key if is_new else "", name=issued.name)


@router.post("/{key_id}/revoke")
def revoke(request: Request, db: DatabaseDep, key_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: revoke_key(tx, key_id),
        then=lambda _: HERE,
        show=lambda status: _page(request, db, form, status),
        said=lambda row: f"{row.name} is not answered any more.",
    )


def _page(
    request: Request, db: Database, form: Form, status: int = 200, *, key: str = "", name: str = ""
) -> Response:
    with db.read() as session:
        lines = list_keys(session)
    return page(
        request,
        "api_keys/list.html",
        status,
        nav="office",
        form=form,
        lines=lines,
        key=key,
        name=name,
    )
