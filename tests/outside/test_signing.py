"""Signatures: by the vector of the specification, and by the verifier that receivers use."""

from datetime import UTC, datetime

import pytest

from service.outside.signing import NotASecret, key_of, new_secret, signature, signed_headers

# The secret, id, time and body of the Standard Webhooks libraries' own tests (standard-webhooks/standard-webhooks).
SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"  # noqa: S105
ID = "msg_p5jXN8AQM9LWM0D4loKWxJek"
SENT_AT = 1614265330
BODY = b'{"test": 2432232314}'
SIGNED = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_the_published_message_has_the_published_signature():
    assert signature(SECRET, ID, SENT_AT, BODY) == SIGNED


def test_the_same_body_written_otherwise_has_another_signature():
    assert (
        signature(SECRET, ID, SENT_AT, BODY.replace(b" ", b"")) == "v1,Vif40peJBP7Iyl0XGmu61n4MwdrcHov5CFREBpE0svs="
    )


def test_during_a_rotation_a_message_carries_a_signature_for_each_good_secret():
    new = new_secret()
    headers = signed_headers([new, SECRET], ID, SENT_AT, BODY)
    assert headers["webhook-signature"].split(" ") == [signature(new, ID, SENT_AT, BODY), SIGNED]
    assert (headers["webhook-id"], headers["webhook-timestamp"]) == (ID, str(SENT_AT))


def test_a_new_secret_is_long_enough_and_never_the_same():
    one, other = new_secret(), new_secret()
    assert one.startswith("whsec_")
    assert len(key_of(one)) == 32
    assert one != other


@pytest.mark.parametrize(
    "wrong", ["", SECRET.removeprefix("whsec_"), "whsec_c2hvcnQ=", "whsec_" + "A" * 100, "whsec_ä"]
)
def test_what_is_no_secret_is_refused_and_not_repeated(wrong):
    with pytest.raises(NotASecret) as refused:
        key_of(wrong)
    assert not wrong or wrong not in str(refused.value)


def test_an_id_that_could_be_read_two_ways_is_refused():
    with pytest.raises(ValueError, match="no point"):
        signed_headers([SECRET], "a.1", SENT_AT, BODY)


def test_receivers_verify_what_was_signed():
    reference = pytest.importorskip("standardwebhooks", reason="the reference verifier is not installed")
    now = int(datetime.now(UTC).timestamp())
    new = new_secret()
    headers = signed_headers([new, SECRET], ID, now, BODY)
    for secret in (new, SECRET):
        assert reference.Webhook(secret).verify(BODY, headers) == {"test": 2432232314}
    with pytest.raises(reference.WebhookVerificationError):
        reference.Webhook(new_secret()).verify(BODY, headers)
    with pytest.raises(reference.WebhookVerificationError):
        reference.Webhook(SECRET).verify(BODY.replace(b" ", b""), headers)
