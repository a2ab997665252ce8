"""Lots to take away into another database: as a Darwin Core archive, or as a Darwin Core Data Package."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from typing import BinaryIO, Final
from uuid import UUID

from flask import Response

from service.actions import transfer_lots
from service.formats.darwin_core.about import About
from service.formats.darwin_core.data_package import write_data_package
from service.formats.darwin_core.writing import terms_told, write_archive
from service.store import consignments, institutions, transfers
from service.store import lots as store
from service.store.consignments import Consignment
from service.web.kit import negotiation
from service.web.kit.conditions import etag, is_unchanged
from service.web.kit.operation import Blueprint
from service.web.transaction import transaction

lots_away = Blueprint(
    "lots-away",
    __name__,
    url_prefix="/v1",
    description="Lots to take away into another database, in Darwin Core's two forms: an archive with loans and "
    "permits beside the lots, or a data package, as far as that standard is settled.",
)
_CONSIGNMENT: Final = "/consignments/<uuid:consignment_id>/lots"
_TRANSFER: Final = "/transfers/<uuid:transfer_id>"
_NAMED = {"Content-Disposition": "ContentDisposition"}
_AT_ONCE_BYTES = 64 * 1024


@lots_away.operation(
    "GET", _CONSIGNMENT + "/archive", scope="read", media=[negotiation.ZIP], conditional=True, headers=_NAMED
)
def get_lots_archive(consignment_id: UUID) -> Response:
    """Take the lots of a consignment away as a Darwin Core archive, with loans and permits as extensions.

    One record a lot, with the terms that the sender's database knew. What came in an archive goes out in its own
    words, under its own identifiers, and nothing is said where it said nothing: a record without an `occurrenceID`
    goes out without one. The first column names a row within the archive for the extensions, and is no term. Whoever
    reads the consignment may take it.
    """
    with transaction() as session:
        consignment = consignments.by_id(session, consignment_id)
        if is_unchanged(etag(consignment.version, negotiation.ZIP)):
            return _download(None, consignment)
        further = tuple(terms_told(store.each(session, consignment)))
        about = _about(f"Lots of {consignment.code}", institutions.by_id(session, consignment.institution_id).name)
        lots = store.each(session, consignment)
        packed = _packed(lambda target: write_archive(target, lots, about, further))
    return _download(packed, consignment, f"lots-{consignment_id}.zip")


@lots_away.operation(
    "GET", _CONSIGNMENT + "/data-package", scope="read", media=[negotiation.ZIP], conditional=True, headers=_NAMED
)
def get_lots_data_package(consignment_id: UUID) -> Response:
    """Take the lots of a consignment away as a Darwin Core Data Package.

    By the guide of 26 May 2026, as far as it is settled: `datapackage.json`, and the one table `material`, a lot a
    row. Loans, permits and what else the sender's database told have no place there yet: the archive carries them.
    Packages are written and not read. Whoever reads the consignment may take it.
    """
    with transaction() as session:
        consignment = consignments.by_id(session, consignment_id)
        if is_unchanged(etag(consignment.version, negotiation.ZIP)):
            return _download(None, consignment)
        about = _about(f"Lots of {consignment.code}", institutions.by_id(session, consignment.institution_id).name)
        lots = store.each(session, consignment)
        packed = _packed(lambda target: write_data_package(target, lots, about, consignment_id.urn))
    return _download(packed, consignment, f"lots-{consignment_id}-package.zip")


@lots_away.operation("GET", _TRANSFER + "/archive", scope="read", media=[negotiation.ZIP], headers=_NAMED)
def get_transfer_archive(transfer_id: UUID) -> Response:
    """Take the lots of a transfer away as a Darwin Core archive.

    Each count in each place is a lot of its own, with `disposition`, who holds it (`institutionCode`) and who owns it
    (`ownerInstitutionCode`); loan and permits as extensions.
    """
    with transaction() as session:
        about = _about_transfer(transfers.by_id(session, transfer_id))
        found = transfer_lots.lots_of(session, transfer_id)
    packed = _packed(lambda target: write_archive(target, found, about))
    return _download(packed, None, f"transfer-{transfer_id}.zip")


@lots_away.operation("GET", _TRANSFER + "/data-package", scope="read", media=[negotiation.ZIP], headers=_NAMED)
def get_transfer_data_package(transfer_id: UUID) -> Response:
    """Take the lots of a transfer away as a Darwin Core Data Package.

    Each count in each place is a row of the table `material`, with `disposition`, who holds it (`institutionCode`)
    and who owns it (`ownerInstitutionCode`). That standard has no settled place for loan and permits yet: the archive
    carries them.
    """
    with transaction() as session:
        about = _about_transfer(transfers.by_id(session, transfer_id))
        found = transfer_lots.lots_of(session, transfer_id)
    packed = _packed(lambda target: write_data_package(target, found, about, transfer_id.urn))
    return _download(packed, None, f"transfer-{transfer_id}-package.zip")


def _about_transfer(kept: transfers.Kept) -> About:
    return _about(f"Lots of {kept.code}", kept.transfer.lender.name)


def _about(title: str, institution: str) -> About:
    return About(title, institution, datetime.now(UTC).date())


def _packed(write: Callable[[BinaryIO], object]) -> BinaryIO:
    packed = tempfile.TemporaryFile()  # noqa: SIM115 - it is closed when it has been sent
    write(packed)
    packed.seek(0)
    return packed


def _download(packed: BinaryIO | None, consignment: Consignment | None, name: str = "") -> Response:
    """A file to take away; without one, that nothing has changed since the asker took it."""
    if packed is None:
        response = Response(status=304)
    else:
        response = Response(_pieces(packed), mimetype=negotiation.ZIP)
        response.headers["Content-Disposition"] = f"attachment; filename={name}"
    if consignment is not None:
        response.set_etag(etag(consignment.version, negotiation.ZIP))
    return response


def _pieces(packed: BinaryIO) -> Iterator[bytes]:
    """The file bit by bit; it is closed, and so gone, at its end."""
    with closing(packed):
        while piece := packed.read(_AT_ONCE_BYTES):
            yield piece
