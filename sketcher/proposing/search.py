"""The search: attempts in one style after another, each judged by the rules; the best few that differ truly."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from sketcher.document import Document, with_changes
from sketcher.document.joined import open_connections
from sketcher.findings import Finding, limits_of
from sketcher.proposing.attempt import Table
from sketcher.proposing.budget import ALL_RULES_S, PER_EDGE_S, QUICK_RULES_S, SCREWS_S, Budget
from sketcher.proposing.certain import Certain, certainly_open
from sketcher.proposing.few import few_words
from sketcher.proposing.found import Found
from sketcher.proposing.judging import judge
from sketcher.proposing.lattice_store import Tables
from sketcher.proposing.lid_room import in_words, places_of, short_of_room, with_room
from sketcher.proposing.lids import WHOLE_S, Lids
from sketcher.proposing.ranking import MOST_KEPT, Proposal, added, differ, scored, worth_most
from sketcher.proposing.rule_distances import Section
from sketcher.proposing.search_rounds import (
    FOR_MORE,
    WANTED_GOOD,
    Rounds,
    Try,
    any_good,
    count_good,
    prices_of,
    sections_of,
)
from sketcher.proposing.sound import without_faults
from sketcher.proposing.stuck import explain
from sketcher.proposing.value_changes import OF_LID, WANTED, Remedied, Tried, remedied, with_change
from sketcher.proposing.wishes import Wishes
from sketcher.proposing.writing import without_channels

#: Once so much of the time has brought nothing better, more of the same is not tried.
_PATIENCE = 0.4
#: So many drafts that fail are tried with changes of the plate's values.
_DRAFTS_CHANGED = 2
#: A draft with so much less of its length on shared rows of lid screws may hold where one much like it did not, mm.
_ROOMIER_MM = 20.0
#: One that is much like a good one is looked at when its score is this much of that one's.
_BETTER = 0.95
#: So many of the drafts that fail by least have their screws designed in every thread.
_NEARLY = 1
#: So many drafts of one round are kept for the whole rules.
_MOST_DRAFTS = 12
#: Finding out what to move or to change takes so much work at the most, s, or as much as the search was given.
_LEAST_EXPLAINING_S = 5.0
#: What moves for the lid's sake may take beside that, s: each has its screws designed.
_MOVING_S = 4.0


def propose(
    document: Document,
    wishes: Wishes,
    *,
    stop: Callable[[], bool] = lambda: False,
    progress: Callable[[Found], None] = lambda found: None,
) -> Found:
    """Lays out channels for all that ``loop.connections`` asks for.

    Args:
        document: the plate.
        wishes: weights, style, section, time.
        stop: asked between nets; true ends the search with what it has.
        progress: told of every proposal that is better than those before.
    """
    begun = time.monotonic()
    base = _base(document, wishes)
    found = Found()
    if not open_connections(base):
        found.proposals = [Proposal(judge(base), "free", Section(0.0, 0.0), 0.0, whole=True)]
        return found
    narrowest = min(sections_of(base, wishes), key=lambda section: section.width_mm)
    aside = certainly_open(base, narrowest)
    run = _Run(_without(base, aside), document, wishes, Budget(wishes.seconds, stop), progress, begun)
    if open_connections(run.base):
        run.search()
    else:
        run.found.proposals = [Proposal(judge(run.base), "free", narrowest, 0.0, whole=True)]
    found = run.found
    if aside:
        _put_back(run, base, aside, narrowest)
    found.late = any(one.late for one in run.budgets)
    found.seconds = time.monotonic() - begun
    return found


class _Run:
    """One search over a plate whose connections may all be possible."""

    def __init__(
        self,
        base: Document,
        before: Document,
        wishes: Wishes,
        budget: Budget,
        progress: Callable[[Found], None],
        begun: float,
    ) -> None:
        self.base, self.before, self.wishes, self.budget = base, before, wishes, budget
        self.budgets = [budget]
        self.seen: list[Proposal] = []
        self.progress, self.begun = progress, begun
        self.found = Found()
        self.tables = Tables(base, before, wishes, budget)
        self.lids = Lids(limits_of(base), budget)
        self.known = frozenset((one.rule, one.items) for one in judge(base).errors if one.rule != "connection-open")
        self.better_at = 0.0
        #: Errors of each layout that all rules looked at and one refused; whether values of the plate had to change.
        self.refused: list[tuple[Finding, ...]] = []
        self.changed = False

    def search(self) -> None:
        """Rounds of attempts until enough are good, nothing gets better or the time is up; then the reasons."""
        found, budget = self.found, self.budget
        reached = (len(self.base.loop.connections) + 1, 0)
        for attempts in Rounds(self.base, self.wishes, found, self.tables, budget, lambda: self.waited).all():
            drafts: list[Proposal] = []
            for one in attempts:
                if found.attempts and not budget.left():
                    break
                self._draft(drafts, one)
            self._looked_over(drafts)
            best = found.best
            if best is not None and (now := (len(best.judged.unconnected), len(best.judged.own_errors))) < reached:
                reached, self.better_at = now, budget.spent
            if not budget.left():
                break
        if found.best is not None and not found.best.judged.good:
            self._sound(found.best)
        if 0 < len(found.passing) < WANTED_GOOD and not budget.stop():
            late = not budget.left(SCREWS_S + ALL_RULES_S) or budget.spent >= FOR_MORE * budget.seconds
            found.few = few_words(len(found.passing), self.refused, found.attempts, changed=self.changed, late=late)

    @property
    def waited(self) -> bool:
        """Whether nothing got better for a good part of the time."""
        return self.budget.spent - self.better_at > _PATIENCE * self.budget.seconds

    def _more_time(self, more_s: float = 0.0) -> Budget:
        """As much work as the search was given, for finding out what to move or to change."""
        self.budgets.append(Budget(max(self.wishes.seconds, _LEAST_EXPLAINING_S) + more_s, self.budget.stop))
        return self.budgets[-1]

    def _draft(self, drafts: list[Proposal], one: Try) -> None:
        """Makes an attempt, and keeps what the quick rules say of it when it differs from the other drafts."""
        table = one.table
        steps = table.lattice.steps
        runs = max((len(net.parts) - 1) * len(net.parts) // 2 for net in table.nets)
        stop = self.budget.nets(steps, runs, table.look is not None, needed=not self.found.attempts)
        attempt = table.attempt(one.prices, one.seed, stop, shunned=one.shunned)
        self.found.attempts += 1
        self.budget.spend(QUICK_RULES_S)
        draft = scored(judge(attempt.document, self.known, quick=True), table, self.wishes)
        added(drafts, replace(draft, crowded_mm=attempt.crowded_mm), self.base, most=_MOST_DRAFTS)

    def _looked_over(self, drafts: Sequence[Proposal]) -> None:
        """What the quick rules let pass under all rules, the best first, until enough are good or the time is up."""
        found, budget = self.found, self.budget
        nearly: list[tuple[int, float, Proposal]] = []
        for draft in worth_most(drafts):
            # Once one is found, no other is begun that would not be done in time.
            if found.proposals and not budget.left(SCREWS_S + ALL_RULES_S if any_good(found) else 0.0):
                break
            if any(draft.document == other.document for other in self.seen) or (
                any_good(found) and not self._new(draft)
            ):
                continue
            self.seen.append(draft)
            if not draft.judged.unconnected and not draft.judged.own_errors:
                # Screws take longest to design: only for what the quick rules let pass.
                whole = judge(self.lids.screwed(draft.document), self.known)
                budget.spend(ALL_RULES_S)
                draft = replace(scored(whole, draft, self.wishes), whole=True)
                if not whole.good:
                    none = [one for one in whole.findings if one.rule == "screw-none"]
                    self.refused.append((*whole.own_errors, *none))
                    nearly.append((len(whole.own_errors), draft.score, draft))
            if added(found.proposals, draft, self.base):
                found.seconds = time.monotonic() - self.begun
                self.progress(found)
            if count_good(found) >= WANTED_GOOD:
                break
        self._in_any_thread([draft for *_, draft in sorted(nearly, key=lambda one: one[:2])[:_NEARLY]])

    def _in_any_thread(self, nearly: Sequence[Proposal]) -> None:
        """What the usual threads do not hold, by least, in whatever thread does, where there is no choice yet."""
        for draft in nearly:
            enough = count_good(self.found) > 1  # then more layouts bring a third sooner
            if enough or not self.budget.left(WHOLE_S) or self.before.seal.screws_by_rule:
                return
            whole = judge(self.lids.in_any_thread(draft.document), self.known)
            self.budget.spend(ALL_RULES_S)
            if whole.good and added(
                self.found.proposals, replace(scored(whole, draft, self.wishes), whole=True), self.base
            ):
                self.progress(self.found)

    def _new(self, draft: Proposal) -> bool:
        """Whether a draft differs from all that the whole rules have looked at, or is clearly better than what is like
        it: for a choice nothing else is of use."""
        no_better = (one for one in self.found.proposals if draft.score > _BETTER * one.score)
        alike = (one for one in self.seen if draft.crowded_mm > one.crowded_mm - _ROOMIER_MM)
        return all(differ(draft.document, one.document, self.base) for one in (*no_better, *alike))

    def _sound(self, best: Proposal) -> None:
        """What has errors of its own is not proposed; the rest is, with the reason for what is left out."""
        sound, broken = without_faults(best.document, self.base, self.known)
        if sound is not best.document:
            sound = self._laid_alone(sound, best)
        if sound is not best.document or not best.whole:
            whole = judge(self.lids.screwed(sound), self.known)
            best = replace(scored(whole, best, self.wishes), whole=True)
        joined = [one for one in self.found.proposals if one.whole and not one.judged.unconnected]
        self.found.proposals = [best]
        if self.budget.stop():
            return
        if best.judged.unconnected:
            self.explain(best, best.judged.unconnected, broken, {})
        elif not best.judged.good:
            self._changed([best, *(one for one in joined if one.document is not best.document)])

    def _laid_alone(self, sound: Document, best: Proposal) -> Document:
        """What stands laid once more without what is left out, which it need not go round any longer."""
        open_ = {id_ for parts in open_connections(sound) for part in parts for id_ in part}
        kept = [ports for ports in self.base.loop.connections if not open_ & set(ports)]
        rest = with_changes(self.base, loop=self.base.loop.model_copy(update={"connections": kept}))
        if not open_connections(rest):
            return sound
        table = Table(rest, self.tables.limits, best.section, best.style)
        laid = table.attempt(prices_of(self.wishes, 1.0), self.wishes.seed, self.budget.stop).document
        again = with_changes(laid, loop=self.base.loop)
        one, other = judge(again, self.known, quick=True), judge(sound, self.known, quick=True)
        same = len(one.unconnected) == len(other.unconnected) and len(one.own_errors) <= len(other.own_errors)
        return again if same and one.numbers.loss_kpa < other.numbers.loss_kpa else sound

    def _changed(self, drafts: Sequence[Proposal]) -> None:
        """Of drafts in which errors stand: those that pass once a value of the plate is another one."""
        budget = self._more_time()
        for draft in drafts[:_DRAFTS_CHANGED]:
            done = remedied(draft.judged, self.before, self.lids.limits, budget)
            if done.passing:
                passing = [replace(scored(one, draft, self.wishes), whole=True) for one in done.passing]
                passing += self._changed_alike([one for one in drafts if one is not draft], done, budget)
                self.found.proposals, self.found.tried = passing[:MOST_KEPT], []
                self.changed = True
                return
            self.found.tried = self.found.tried or list(done.tried)
        of_lid = any(error.rule.startswith(OF_LID) for error in drafts[0].judged.own_errors)
        if of_lid or drafts[0].judged.unscrewed:
            self._moved_apart(drafts[0])

    def _changed_alike(self, drafts: Sequence[Proposal], done: Remedied, budget: Budget) -> Iterator[Proposal]:
        """Other drafts with the changes that made one pass: what differs then is the layout, too."""
        for draft in drafts:
            for change in done.changes:
                if not budget.left():
                    return
                good, _ = with_change(draft.judged, change, self.lids.limits, budget)
                if good is not None:
                    yield replace(scored(good, draft, self.wishes), whole=True)
                    break

    def _moved_apart(self, draft: Proposal) -> None:
        """Of a draft whose lid does not hold: what is too near to what, and the moves that make it pass."""
        budget = self._more_time(_MOVING_S)
        limits = self.tables.limits
        lids = Lids(limits, budget)

        def laid(base: Document) -> Document:
            table = Table(base, limits, draft.section, draft.style)
            budget.spend(PER_EDGE_S * len(table.lattice.tails))
            return table.attempt(prices_of(self.wishes, 1.0), self.wishes.seed, budget.stop, rounds=15).document

        done = with_room(draft.judged, self.base, limits, budget, lay=laid, screwed=lids.screwed, wanted=WANTED)
        if done.passing:
            passing = [replace(scored(one, draft, self.wishes), whole=True) for one in done.passing]
            self.found.proposals, self.found.tried = passing, []
            self.changed = True
            return
        self.found.short = [
            one.why(draft.document) for one in short_of_room(draft.document, limits, places_of(draft.judged))
        ]
        self.found.tried += [Tried(in_words(moves), left) for moves, left in done.tried]

    def explain(
        self,
        best: Proposal,
        open_: Sequence[tuple[str, ...]],
        broken: dict[str, str],
        sure: dict[frozenset[str], Certain],
    ) -> None:
        """For each connection that the best proposal leaves open: why, and what to move."""
        budget = self._more_time()
        for ports in open_:
            self.found.stuck.append(
                explain(
                    self.tables.of(best.style, best.section),
                    ports,
                    prices_of(self.wishes, 1.0),
                    budget,
                    laid=best.document,
                    broken=next((broken[id_] for id_ in ports if id_ in broken), ""),
                    sure=sure.get(frozenset(ports)),
                )
            )


def _without(base: Document, aside: Sequence[Certain]) -> Document:
    """The plate without the connections that certainly stay open: the rest is laid as if they were not wanted."""
    if not aside:
        return base
    gone = {frozenset(one.ports) for one in aside}
    kept = [ports for ports in base.loop.connections if frozenset(ports) not in gone]
    return with_changes(base, loop=base.loop.model_copy(update={"connections": kept}))


def _put_back(run: _Run, base: Document, aside: Sequence[Certain], narrowest: Section) -> None:
    """The connections that were left out stand in every proposal again, and each has its reason."""
    found = run.found
    for index, one in enumerate(found.proposals):
        document = with_changes(
            one.document,
            loop=one.document.loop.model_copy(update={"connections": base.loop.connections}),
        )
        found.proposals[index] = replace(scored(judge(document, run.known), one, run.wishes), whole=one.whole)
    best = found.proposals[0]
    section = best.section if best.section.width_mm else narrowest
    run.tables = Tables(base, base, run.wishes, run.budget)
    if not run.budget.stop():
        open_ = [one.ports for one in aside]
        run.explain(replace(best, section=section), open_, {}, {frozenset(one.ports): one for one in aside})


def _base(document: Document, wishes: Wishes) -> Document:
    """The plate without what is to be laid anew."""
    if not wishes.anew:
        return document
    wanted = {id_ for connection in document.loop.connections for id_ in connection}
    branches = {branch.id for branch in document.branches if not branch.locked}
    movable = wanted | branches
    gone = [
        channel.id
        for channel in document.channels
        if not channel.locked and channel.start in movable and channel.end in movable
    ]
    return without_channels(document, gone)
