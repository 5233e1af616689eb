"""Findings, and photos that carry nothing but the picture."""

from __future__ import annotations

import io
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from contractor.visits import photos
from contractor.visits.models import Finding
from tests import make
from tests.cast import Cast, as_person, as_phone

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


def send(person: Any, **sent: Any) -> Any:
    headers = {"Idempotency-Key": str(uuid.uuid4())}
    return as_person(person).post("/api/v1/findings/", sent, headers=headers)


def picture(size: tuple[int, int] = (40, 30), kind: str = "JPEG", **options: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "steelblue").save(out, kind, **options)
    return out.getvalue()


def upload(person: Any, finding_id: Any, data: bytes, name: str = "scale.jpg") -> Any:
    headers = {"Idempotency-Key": str(uuid.uuid4())}
    file = SimpleUploadedFile(name, data, "image/jpeg")
    address = f"/api/v1/findings/{finding_id}/photo/"
    return as_person(person).post(address, {"photo": file}, format="multipart", headers=headers)


@pytest.fixture
def finding(cast: Cast) -> Finding:
    """Of a visit whose report is released."""
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned)
    make.shown_to_clients(cast.exchanger, reading.taken_at)
    return Finding.objects.create(visit=cast.visit, unit=cast.unit, found_by=cast.assigned, kind="photo")


def test_a_finding_is_kept_with_who_found_it(cast: Cast) -> None:
    sent = {"id": str(uuid.uuid4()), "visit": str(cast.visit.pk), "unit": str(cast.unit.pk),
            "kind": "strainer", "value": "blocked", "mode": "cooling"}  # fmt: skip
    answer = send(cast.assigned, **sent)
    assert answer.status_code == 201, answer.data
    assert answer.data["id"] == sent["id"]
    assert (answer.data["found_by"], answer.data["photo"]) == (cast.assigned.pk, None)


@pytest.mark.parametrize(
    ("kind", "value", "words"),
    [
        ("strainer", "filthy", "clean, dirty, blocked, not_fitted"),
        ("back_flush", "", "flow_restored, no_change"),
        ("lockout", "E4", "high_head, low_suction"),
        ("smell", "", "strainer, back_flush, lockout"),
    ],
)
def test_an_unknown_word_is_refused_with_those_known(cast: Cast, kind: str, value: str, words: str) -> None:
    answer = send(cast.assigned, visit=str(cast.visit.pk), kind=kind, value=value)
    assert answer.status_code == 400
    assert words in answer.data["errors"][0]["detail"]


def test_a_finding_is_of_a_unit_at_the_visits_site(cast: Cast) -> None:
    elsewhere = make.unit(make.site(cast.customer))
    answer = send(cast.office, visit=str(cast.visit.pk), unit=str(elsewhere.pk), kind="note", note="x")
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/unit"


def test_a_finding_is_changed_under_if_match_and_retired_but_not_moved(cast: Cast, finding: Finding) -> None:
    client, address = as_phone(cast.assigned), f"/api/v1/findings/{finding.pk}/"
    assert client.patch(address, {"note": "lime"}).status_code == 428
    changed = client.patch(address, {"note": "lime"}, headers={"If-Match": f'"{finding.pk}-1"'})
    assert (changed.status_code, changed.data["note"]) == (200, "lime")
    other = make.visit(cast.site, [cast.assigned])
    moved = client.patch(address, {"visit": str(other.pk)}, headers={"If-Match": "*"})
    assert (moved.status_code, moved.data["errors"][0]["pointer"]) == (400, "#/visit")
    assert client.post(f"{address}retire/", headers={"If-Match": "*"}).status_code == 200
    assert client.get("/api/v1/findings/").data["results"] == []
    assert len(client.get("/api/v1/findings/?retired=all").data["results"]) == 1


def test_a_photo_is_written_anew_without_position_or_camera(cast: Cast, finding: Finding) -> None:
    exif = Image.Exif()
    exif[0x010F] = "Some camera"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0)})
    sent = picture(exif=exif)
    assert b"Some camera" in sent
    answer = upload(cast.assigned, finding.pk, sent)
    assert answer.status_code == 201, answer.data
    shown = as_person(cast.client).get(answer.data["photo"])
    kept = b"".join(shown.streaming_content)
    assert shown.status_code == 200
    assert b"Some camera" not in kept
    with Image.open(io.BytesIO(kept)) as image:
        assert (image.format, image.size, dict(image.getexif())) == ("JPEG", (40, 30), {})


def test_a_photo_taken_sideways_is_kept_upright(cast: Cast, finding: Finding) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    upload(cast.assigned, finding.pk, picture((40, 30), exif=exif))
    finding.refresh_from_db()
    with Image.open(finding.photo.open()) as image:
        assert image.size == (30, 40)


def test_a_large_photo_is_kept_smaller(cast: Cast, finding: Finding) -> None:
    upload(cast.assigned, finding.pk, picture((4000, 1000)))
    finding.refresh_from_db()
    with Image.open(finding.photo.open()) as image:
        assert image.size == (photos.LONGEST_SIDE, photos.LONGEST_SIDE // 4)


def test_png_and_webp_are_read_and_kept_as_jpeg_under_a_name_of_our_own(cast: Cast, finding: Finding) -> None:
    assert upload(cast.assigned, finding.pk, picture(kind="PNG"), "../../evil.html").status_code == 201
    finding.refresh_from_db()
    assert Path(finding.photo.name).name == f"{finding.pk}.jpg"
    other = Finding.objects.create(visit=cast.visit, found_by=cast.assigned, kind="photo")
    assert upload(cast.assigned, other.pk, picture(kind="WEBP")).status_code == 201


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"<svg onload='x'/>", "no such picture"),
        (b"GIF89a" + bytes(20), "no such picture"),
        (picture()[:200], "broken or cut short"),
        (b"", "empty"),
    ],
)
def test_what_is_no_picture_is_refused(cast: Cast, finding: Finding, data: bytes, words: str) -> None:
    answer = upload(cast.assigned, finding.pk, data)
    assert answer.status_code == 400
    assert words in answer.data["errors"][0]["detail"]
    assert answer.data["errors"][0]["pointer"] == "#/photo"


def test_a_picture_of_too_many_pixels_is_refused_before_it_is_unpacked(cast: Cast, finding: Finding) -> None:
    flood = picture((9000, 6000), "PNG")
    assert len(flood) < 1_000_000
    answer = upload(cast.assigned, finding.pk, flood)
    assert answer.status_code == 400
    assert "9000 x 6000 pixels" in answer.data["detail"]


def test_a_file_too_large_is_refused_before_it_is_read(cast: Cast, finding: Finding) -> None:
    answer = upload(cast.assigned, finding.pk, bytes(photos.LARGEST_BYTES + 200_000))
    assert answer.status_code == 413


def test_a_photo_is_served_as_a_file_to_those_who_may_see_the_finding(cast: Cast, finding: Finding) -> None:
    address = upload(cast.assigned, finding.pk, picture()).data["photo"]
    for person in (cast.owner, cast.office, cast.assigned, cast.client):
        shown = as_person(person).get(address)
        assert shown.status_code == 200
        assert shown["Content-Disposition"] == f'attachment; filename="finding-{finding.pk}.jpg"'
        assert shown["X-Content-Type-Options"] == "nosniff"
        assert "sandbox" in shown["Content-Security-Policy"]
        b"".join(shown.streaming_content)
    for stranger in (cast.other, cast.other_client):
        assert as_person(stranger).get(address).status_code == 404
    assert as_person(None).get(address).status_code == 401


def test_a_browser_that_asks_for_pictures_gets_it(cast: Cast, finding: Finding) -> None:
    address = upload(cast.assigned, finding.pk, picture()).data["photo"]
    shown = as_person(cast.client).get(address, headers={"Accept": "image/avif,image/*,*/*;q=0.8"})
    assert shown.status_code == 200
    b"".join(shown.streaming_content)


def test_a_second_photo_wants_a_second_finding(cast: Cast, finding: Finding) -> None:
    upload(cast.assigned, finding.pk, picture())
    assert upload(cast.assigned, finding.pk, picture((10, 10))).status_code == 409


def test_a_finding_without_a_photo_has_none_to_show(cast: Cast, finding: Finding) -> None:
    assert as_person(cast.office).get(f"/api/v1/findings/{finding.pk}/photo/").status_code == 404


def test_a_photo_wants_a_key_and_a_technician_of_the_crew(cast: Cast, finding: Finding) -> None:
    address = f"/api/v1/findings/{finding.pk}/photo/"
    file = SimpleUploadedFile("a.jpg", picture(), "image/jpeg")
    assert as_person(cast.assigned).post(address, {"photo": file}, format="multipart").status_code == 400
    make.visit(cast.site, [cast.other])
    assert upload(cast.other, finding.pk, picture()).status_code == 403
