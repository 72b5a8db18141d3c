"""What is stored of a turn."""

from __future__ import annotations

import json

from actions.offer import same
from bot.handover.store import Chats
from bot.privacy.stored import Told, events, without
from bot.remarks import Remarks

TEXT = "im Dave Smith of 14 Alder Row, my rose bush and Dave's theremin? 07700 900123"


def user(text, *entities):
    parsed = {
        "text": text,
        "intent": {"name": "ask", "confidence": 0.9},
        "entities": list(entities),
    }
    return {"event": "user", "text": text, "parse_data": parsed, "message_id": "m1"}


def stored(*new):
    return list(events(new))


def test_message_entities_reply_memory_and_buttons_hold_no_person():
    thing = {"item": None, "said": "Dave's theremin", "facts": {}}
    bot = {
        "event": "bot",
        "text": "Dave's theremin: in the navy bin. Call 01632 960118.",
        "data": {
            "buttons": [{"title": "Dave's theremin", "payload": "Dave's theremin"}],
            "custom": {
                "items": [{"item": None, "asked_as": "Dave's theremin", "why": "It burns."}]
            },
        },
    }
    slot = {"event": "slot", "name": "memory", "value": {"last": [thing], "said": TEXT}}
    entity = {"entity": "unknown", "value": "Dave's theremin", "said": "Dave's theremin"}
    kept = stored(user(TEXT, entity), bot, slot)
    told = json.dumps(kept)
    assert not [w for w in ("Dave", "Smith", "14 Alder", "900123") if w in told]
    assert kept[0]["text"] == kept[0]["parse_data"]["text"]
    assert "rose bush" in kept[0]["text"]
    assert kept[1]["text"] == "[name]'s theremin: in the navy bin. Call 01632 960118."
    assert kept[2]["value"]["last"][0]["said"] == "[name]'s theremin"
    assert kept[0]["message_id"] == "m1"


def test_what_names_nobody_is_stored_as_it_is():
    told = [user("a pizza box", {"entity": "item", "value": "pizza_box", "said": "pizza box"})]
    told.append({"event": "bot", "text": "Pizza box: bin.", "data": {"custom": {"items": []}}})
    told.append({"event": "session_started", "timestamp": 1.0})
    assert stored(*told) == told


def test_ids_are_never_touched():
    """A resident called Rose must not turn the rule id of a rose into something else."""
    told = Told("im Rose, a rose")
    data = {"item": "rose", "rule": "items/garden.yml: rose, row 1", "text": "Rose: brown bin"}
    assert told.cleaned(data) == {**data, "text": "[name]: brown bin"}


def test_reply_quotes_nobody_in_the_store_of_texts():
    assert without("Dave's hat: bin", "im Dave, where does Dave's hat go") == "[name]'s hat: bin"
    assert without("Call 01632 960118.", "ring 07700 900123") == "Call 01632 960118."


def test_remark_is_masked(tmp_path):
    remarks = Remarks(tmp_path / "remarks.db")
    reply = {"items": [{"item": None, "asked_as": "Sarah's hat"}], "kind": "cautious"}
    more = {"channel": "webchat", "conversation": "c", "question": TEXT, "reply": reply}
    remarks.add("wrong", note="call me, Sarah, on 07700 900123", **more)
    (kept,) = remarks.all()
    assert kept.note == "call me, [name], on [phone]" and "Dave" not in kept.question
    assert kept.reply["items"][0]["asked_as"] == "[name]'s hat"


def test_agent_reads_what_was_typed_while_the_chat_is_open(tmp_path):
    chats = Chats(tmp_path / "handover.db")
    _, chat = chats.ask("web-1", None)
    said = chats.say(chat.id, "resident", "ring me on 07700 900123")
    assert said.text == "ring me on 07700 900123" == chats.lines(chat.id)[0].text
    chats.take(chat.id, "ann")
    assert chats.lines(chat.id)[0].text == "ring me on 07700 900123"
    assert Chats(tmp_path / "handover.db").lines(chat.id)[0].text == "ring me on [phone]"
    assert all(b"900123" not in p.read_bytes() for p in tmp_path.iterdir())
    chats.move(chat.id, ["taken"], "ended")
    assert chats.lines(chat.id)[0].text == "ring me on [phone]" and not chats.open


def test_reading_that_was_offered_can_be_picked_by_its_words():
    """The button says what was typed; the memory holds it masked."""
    assert same("dave's old sofa", "[name]'s old Sofa")
    assert same("old sofa", "old sofa")
    assert not same("old chair", "[name]'s old sofa")
    assert not same("sofa (old)", "sofa .old.")


def test_words_in_the_place_of_a_district_are_masked_too():
    user = {"event": "user", "text": "tin", "parse_data": {}, "timestamp": 1.0}
    user["metadata"] = {"district": "ring 07700 900123", "channel": "webchat", "message_id": "m1"}
    (kept,) = events([user])
    assert kept["metadata"] == {**user["metadata"], "district": "ring [phone]"}
