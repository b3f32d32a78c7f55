"""Who sits in a chair, and "same as last time": what the records know, before a service begins.

A client is attached by voice or when the session starts. The record store is outside: the salon
asks for a client's card (`LookUp`), the answer comes back as an event (`ClientKnown`), so that
a journal stands alone. Nothing here opens a chair without a second phrase or skips the gate.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.core import answers, client_card, gate, since_last
from assistant.core.client_card import Client
from assistant.core.events import ClientKnown, Effect, LookUp, Priority, WriteRecord
from assistant.core.head import Head
from assistant.core.intents import Intent
from assistant.core.replies import Reply, reply
from assistant.core.talk import Pending, Undo

if TYPE_CHECKING:
    from assistant.core.salon import Salon


def attach(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    """ "Chair two is client forty one": read back, and taken after the second phrase only.

    A number is misheard more often than anything else, and it would open another one's record.
    """
    chair = intent.chair or _only_chair(salon)
    if chair is None:
        salon.talk.which = intent
        return [salon.say(reply("which_chair", asks="which"))]
    salon.talk.pending = Pending(replace(intent, chair=chair), chair, at)
    name = client_card.spoken(intent.client)
    return [salon.say(reply("confirm_client", asks="confirm", chair=chair, client=name), chair)]


def attach_confirmed(intent: Intent) -> list[Effect]:
    """The second phrase was said: the records are asked."""
    return [LookUp(intent.chair or 1, intent.client)]


def known(salon: Salon, event: ClientKnown) -> list[Effect]:
    """The records answered: whoever sits in the chair, or sits down next, is this client."""
    client = Client(event.client, event.card, salon.rule)
    noted = [_noted(event.chair, client)] if event.aloud or client.card is None else []
    head = salon.heads.get(event.chair)
    if head is None or head.state in ("closed", "stopped"):
        salon.booked[event.chair] = client
        salon.talk.undo = None  # what could be taken back belongs to another act
        return [salon.say(one, event.chair) for one in noted]
    before = head.snapshot()
    head.file.client = client
    stops = client.verdict == "reaction"  # that is not taken back; another number may be named
    salon.talk.undo = None if stops else Undo(event.at, event.chair, before, "client")
    if stops and head.state != "gate":
        see = reply("client_see_record", chair=event.chair)
        return [salon.say(see, event.chair, Priority.LIMIT)]
    effects = salon.replies(head, [*noted, *_at_gate(head, event.at)])
    return [*effects, *written_if_stopped(head)]


def written_if_stopped(head: Head) -> list[Effect]:
    """A service that the card stopped leaves its record at once."""
    return [WriteRecord(head.chair, head.number)] if head.state == "stopped" else []


def sit_down(salon: Salon, head: Head, at: float) -> list[Reply]:
    """A chair was opened: who was announced for it sits there. The first instruction."""
    head.file.client = salon.booked.pop(head.chair, None)
    return _at_gate(head, at) or answers.instruct(head, at)


def same_again(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    """The last visit and what is different since; opening it needs the second phrase."""
    chair = intent.chair or _only_chair(salon)
    if chair is None:
        salon.talk.which = intent
        return [salon.say(reply("which_chair", asks="which"))]
    head = salon.heads.get(chair)
    sitting = head if head is not None and head.active else None
    client = sitting.file.client if sitting else salon.booked.get(chair)
    if client is None:
        return [salon.say(reply("same_nobody", chair=chair), chair)]
    if client.card is None or client.card.last is None:
        return [salon.say(reply("same_none", chair=chair), chair)]
    return [salon.say(one, chair) for one in _told(salon, chair, client, sitting, at)]


def _told(salon: Salon, chair: int, client: Client, sitting: Head | None, at: float) -> list[Reply]:
    assert client.card is not None
    last = client.card.last
    assert last is not None  # the caller looked
    told = [reply("same_last", recipe=last.recipe, days=last.days_ago)]
    if (grown := client.card.regrowth) is not None:
        told.append(reply("same_regrowth", mm=round(grown.mm), spread=grown.whole_spread_mm))
    recipe = salon.recipes.get(last.recipe)
    if recipe is None:
        return [*told, reply("same_unknown_recipe", recipe=last.recipe)]
    told += since_last.differences(last, recipe)
    if client.card.more:
        told.append(reply("same_see_record", chair=chair))
    if sitting is None:
        again = Intent("same_again", chair=chair, recipe=last.recipe)
        salon.talk.pending = Pending(again, chair, at)
        told.append(reply("confirm_same_again", asks="confirm", chair=chair, recipe=last.recipe))
    elif sitting.recipe.name != last.recipe:
        told.append(reply("same_other_today", recipe=sitting.recipe.name))
    return told


def _noted(chair: int, client: Client) -> Reply:
    if client.card is None:
        return reply("client_unread", chair=chair)
    if client.card.visits == 0 and client.card.test is None:
        return reply("client_new", chair=chair)
    return reply("client_noted", chair=chair)


def _at_gate(head: Head, at: float) -> list[Reply]:
    """What the card means for the gate: a reaction stops it, else its question is put again."""
    client = head.file.client
    if client is None or head.state != "gate":
        return []
    if client.verdict == "reaction":
        return [*gate.reaction_on_record(head).replies]
    return answers.instruct(head, at)


def _only_chair(salon: Salon) -> int | None:
    """The only chair in use or announced; the first if there is none at all."""
    used = {chair for chair, head in salon.heads.items() if head.active} | set(salon.booked)
    return min(used, default=1) if len(used) <= 1 else None
