import { type ClutchState, type EggBody, type EggNamed, EggReplay } from './egg-replay.js';
import { inOrder, type Period } from './periods.js';
import { sharesText } from './shares-text.js';

/**
 * Rebuilds who has and owns what, counts, fates, dams and the states of transfers from the bodies of ledger entries and nothing
 * else: no table is read. What it cannot rebuild the ledger does not say.
 */

/** The state of a set of records, in a form that can be compared. Days are ISO texts; periods are half-open. */
export type State = {
  readonly animals: Record<string, RecordState>;
  readonly transfers: Record<string, TransferState>;
  readonly clutches: Record<string, ClutchState>;
};
export type RecordState = { count: number; fate: string; dam: string | null; custody: Period[]; owners: Period[] };
export type TransferState = {
  state: string;
  sentOn: string | null;
  to: string;
  /** The last day of a loan. */
  dueBack: string | null;
  /** Sides for which a guardian has agreed. */
  signed: string[];
  items: Record<string, string>;
  eggs: Record<string, string>;
};

export type Entry = { readonly action: string; readonly body: Body };
/** The fields of all bodies that are read here. Each body has passed the schema of its action, which says which of them it has. */
export type Body = {
  animalId: string;
  keeperId: string;
  young: { animalId: string; count: number; from: string }[];
  lotId: string;
  newLotId: string;
  fromLotId: string;
  mergedId: string;
  kind: string;
  parents: { role: string; candidates: { parentId: string }[] }[];
  count: number;
  left: number;
  endedOn: string | null;
  cause: string;
  since: string;
  on: string;
  animalIds: string[];
  unknown: string[];
  fate: string;
  to: string;
  takenBack: boolean;
  movesCustody: boolean;
  transferId: string;
  fromKeeperId: string;
  toKeeperId: string | null;
  toOutsidePartyId: string | null;
  outsidePartyId: string;
  splitOn: string;
  sentOn: string;
  receivedOn: string;
  confirmed: boolean;
  closed: boolean;
  items: (Arrived & { count: number; splitFrom: string | null; share?: Parts })[];
  title: string;
  paidUp: boolean;
  titleMoved: string[];
  claimId: string;
  parties: { ownerId: string }[];
  shares: { party: number; parts: number }[];
  sides: string[];
  dueBack?: string;
  agreed: boolean;
  owners: { ownerId: string; parts: number }[];
  picks: { animalId: string }[];
  settled: boolean;
  eggs?: (EggNamed & { arrival: string })[];
};

type Replayed = {
  kind: string;
  count: number;
  fate: string;
  dam: string | null;
  custody: [string, string, string | null][];
  owners: Owned[];
  /** What it came out of. */
  cameFrom: string | null;
};
type Owned = { shares: Map<string, number>; disputed: boolean; from: string; to: string | null };
type Parts = { parts: number; of: number };
/** `owners` in the order of their numbers. */
type ReplayedClaim = { owners: string[]; proposed: { party: number; parts: number }[] };
type ReplayedTransfer = TransferState & {
  from: string;
  outside: boolean;
  counts: Record<string, number>;
  title: string;
  paidUp: boolean;
  shares: Map<string, Parts | null>;
};

/**
 * The state after all entries, which are in the order they were written. `minor`: the keeper that is a minor's; who takes up a
 * transfer for it has agreed with that.
 */
export function replay(entries: readonly Entry[], minor: string | null): State {
  const ledger = new Replay(minor);
  for (const { action, body } of entries) ledger.take(action, body);
  return ledger.state();
}

class Replay {
  private readonly minors: ReadonlySet<string | null>;
  private readonly animals = new Map<string, Replayed>();
  private readonly transfers = new Map<string, ReplayedTransfer>();
  private readonly claims = new Map<string, ReplayedClaim>();
  private readonly eggs = new EggReplay();

  constructor(minor: string | null) {
    this.minors = new Set(minor === null ? [] : [minor]);
  }

  state(): State {
    return {
      animals: Object.fromEntries(
        [...this.animals].map(([id, { count, fate, dam, custody, owners }]) => {
          const told = owners.map(({ shares, disputed, from, to }): Period => [sharesText(shares, disputed), from, to]);
          return [id, { count, fate, dam, custody: inOrder(custody), owners: inOrder(told) }];
        }),
      ),
      transfers: Object.fromEntries(
        [...this.transfers].map(([id, { state, sentOn, to, dueBack, signed, items, eggs }]) => [
          id,
          { state, sentOn, to, dueBack, signed: signed.toSorted(), items, eggs },
        ]),
      ),
      clutches: this.eggs.state(),
    };
  }

  take(action: string, body: Body): void {
    if (action.startsWith('keeper.')) return;
    if (action.startsWith('transfer.claim-') || action === 'transfer.ownership-claimed')
      return this.takeClaim(action, body);
    if (action.startsWith('transfer.')) return this.takeTransfer(action, body);
    if (action.startsWith('breeding.')) return this.takeBreeding(action, body as unknown as EggBody, body);
    const { on } = body;
    switch (action) {
      case 'animal.registered': {
        const mother = body.parents.find(({ role }) => role === 'dam');
        const dam = mother?.candidates[0]?.parentId ?? null;
        this.register(body.animalId, { kind: body.kind, count: body.count, dam }, body);
        break;
      }
      case 'lot.split':
        this.partOf(body.lotId, body.newLotId, 'lot', body.count, on);
        break;
      case 'lot.joined': {
        const [from, into] = [this.of(body.fromLotId), this.of(body.lotId)];
        into.count += body.count;
        from.count = 0;
        this.end(from, on);
        if (body.unknown.includes('dam')) into.dam = null;
        break;
      }
      case 'lot.raised-out': {
        for (const id of body.animalIds) this.partOf(body.lotId, id, 'individual', 1, on);
        if (body.left === 0) this.end(this.of(body.lotId), on);
        break;
      }
      case 'lot.lost-some':
        if (body.cause === 'died') this.die(this.of(body.lotId), body.count, on);
        else this.of(body.lotId).count -= body.count;
        break;
      case 'lot.found-some':
        this.of(body.lotId).count += body.count;
        break;
      case 'lot.recounted':
        this.of(body.lotId).count = body.count;
        break;
      case 'lot.change-corrected': {
        const lot = this.of(body.lotId);
        const last = lot.custody.at(-1);
        if (last !== undefined && body.endedOn !== null) last[2] = body.endedOn;
        else if (last !== undefined && lot.fate === 'dead') last[2] = null;
        Object.assign(lot, { count: body.left, fate: body.fate });
        break;
      }
      case 'animal.died':
        this.die(this.of(body.animalId), body.count, on);
        break;
      case 'animal.fate-corrected': {
        const animal = this.of(body.animalId);
        const last = animal.custody.at(-1);
        if (last !== undefined && (body.takenBack || on !== null)) last[2] = on;
        if (body.takenBack) Object.assign(animal, { fate: body.to, count: 1 });
        break;
      }
      case 'animal.fate-recorded': {
        const animal = this.of(body.animalId);
        animal.fate = body.to;
        if (body.movesCustody) this.moveTo(animal, whereIs(body.to, body.keeperId), on);
        break;
      }
      case 'animal.records-merged':
        this.end(this.of(body.mergedId), on);
        break;
      case 'animal.merge-undone': {
        const last = this.of(body.mergedId).custody.at(-1);
        if (last !== undefined) last[2] = null;
        break;
      }
      default:
        throw new Error(`Nothing is known of entries ${action}.`);
    }
  }

  private takeBreeding(action: string, egg: EggBody, body: Body): void {
    const id = egg.clutchId ?? '';
    switch (action) {
      case 'breeding.clutch-recorded':
        return this.eggs.record(id, egg);
      case 'breeding.egg-events-recorded':
        return this.eggs.tell(id, egg);
      case 'breeding.hatchlings-recorded': {
        const dam = body.parents.find(({ role }) => role === 'dam')?.candidates[0]?.parentId ?? null;
        for (const { animalId, count } of body.young)
          this.register(animalId, { kind: count > 1 ? 'lot' : 'individual', count, dam }, body);
        return this.eggs.hatch(id, egg);
      }
      default:
        throw new Error(`Nothing is known of entries ${action}.`);
    }
  }

  private register(
    id: string,
    record: Pick<Replayed, 'kind' | 'count' | 'dam'>,
    { keeperId, since }: Pick<Body, 'keeperId' | 'since'>,
  ): void {
    this.animals.set(id, {
      ...record,
      fate: 'alive',
      custody: [[keeperId, since, null]],
      owners: [{ shares: new Map([[keeperId, 1]]), disputed: false, from: since, to: null }],
      cameFrom: null,
    });
  }

  private takeTransfer(action: string, body: Body): void {
    if (action === 'transfer.offered') return this.offer(body);
    const transfer = this.transfers.get(body.transferId);
    if (transfer === undefined) throw new Error('An entry is about a transfer that was never offered.');
    switch (action) {
      case 'transfer.accepted':
      case 'transfer.declined':
      case 'transfer.withdrawn':
      case 'transfer.cancelled':
      case 'transfer.expired':
        transfer.state = action.slice('transfer.'.length);
        break;
      case 'transfer.sent':
        Object.assign(transfer, { state: 'sent', sentOn: body.sentOn });
        break;
      case 'transfer.failed':
        if (body.confirmed) transfer.state = 'failed';
        break;
      case 'transfer.items-left-out':
        for (const id of body.animalIds) transfer.items[id] = 'not sent';
        for (const egg of body.eggs ?? []) transfer.eggs[eggKey(egg)] = 'not sent';
        if (body.closed) transfer.state = 'received';
        break;
      case 'transfer.received':
        for (const item of body.items) this.arrive(transfer, item, body.receivedOn);
        for (const egg of body.eggs ?? []) {
          transfer.eggs[eggKey(egg)] = egg.arrival;
          this.eggs.arrive(egg, transfer.to, body.receivedOn);
        }
        if (Object.values({ ...transfer.items, ...transfer.eggs }).every((told) => told !== ''))
          transfer.state = 'received';
        break;
      case 'transfer.taken-up': {
        const [party, keeper]: [string, string] = [body.outsidePartyId, body.keeperId];
        for (const { custody, owners } of this.animals.values()) {
          for (const period of custody) if (period[0] === party) period[0] = keeper;
          for (const { shares } of owners) rename(shares, party, keeper);
        }
        this.eggs.rename(party, keeper);
        for (const claim of this.claims.values())
          claim.owners = claim.owners.map((owner) => (owner === party ? keeper : owner));
        Object.assign(transfer, { to: keeper, outside: false });
        if (this.minors.has(keeper)) transfer.signed.push('receiver');
        break;
      }
      case 'transfer.countersigned':
        transfer.signed.push(...body.sides);
        break;
      case 'transfer.countersignature-withdrawn':
        transfer.signed = transfer.signed.filter((side) => !body.sides.includes(side));
        break;
      case 'transfer.loan-day-answered':
        if (body.agreed) transfer.dueBack = body.dueBack ?? null;
        break;
      case 'transfer.loan-recalled':
        transfer.dueBack = body.dueBack ?? null;
        break;
      case 'transfer.young-of-loan':
        for (const { animalId, from } of body.young)
          this.own(this.of(animalId), new Map(body.owners.map(({ ownerId, parts }) => [ownerId, parts])), from);
        break;
      case 'transfer.young-picked':
        for (const { animalId } of body.picks) this.own(this.of(animalId), new Map([[body.keeperId, 1]]), body.on);
        break;
      // Of a hand-over in person accepting, sending and receiving have entries of their own.
      case 'transfer.hand-over-opened':
      case 'transfer.hand-over-code-wrong':
      case 'transfer.hand-over-confirmed':
      case 'transfer.payment-declared':
      case 'transfer.payment-questioned':
      case 'transfer.loan-day-asked':
      case 'transfer.loan-day-withdrawn':
        break;
      case 'transfer.payment-confirmed':
        transfer.paidUp ||= body.paidUp;
        for (const id of body.titleMoved) this.moveTitle(transfer, id, this.itemOf(transfer, id), body.on);
        break;
      default:
        throw new Error(`Nothing is known of entries ${action}.`);
    }
  }

  private takeClaim(action: string, body: Body): void {
    const animal = this.of(body.animalId);
    const { shares } = this.ownedBy(animal);
    if (action === 'transfer.ownership-claimed') {
      this.claims.set(body.claimId, { owners: body.parties.map(({ ownerId }) => ownerId), proposed: [] });
      return this.own(animal, shares, body.on, true);
    }
    const claim = this.claims.get(body.claimId);
    if (claim === undefined) throw new Error('An entry is about a claim that was never made.');
    switch (action) {
      case 'transfer.claim-replied':
        break;
      case 'transfer.claim-shares-proposed':
        claim.proposed = body.shares;
        break;
      case 'transfer.claim-withdrawn':
        this.own(animal, shares, body.on);
        break;
      case 'transfer.claim-shares-agreed': {
        if (!body.settled) break;
        const settled = new Map<string, number>();
        for (const { party, parts } of claim.proposed) {
          const owner = claim.owners[party - 1] ?? '';
          if (parts > 0) settled.set(owner, (settled.get(owner) ?? 0) + parts);
        }
        this.own(animal, settled, body.on);
        break;
      }
      default:
        throw new Error(`Nothing is known of entries ${action}.`);
    }
  }

  /** The item of a transfer by which a record came: itself, or what it came out of. */
  private itemOf(transfer: ReplayedTransfer, id: string): string {
    for (let at: string | null = id; at !== null; at = this.of(at).cameFrom) if (transfer.shares.has(at)) return at;
    throw new Error('Property moved of a record that came by no item of the transfer.');
  }

  private moveTitle(transfer: ReplayedTransfer, id: string, item: string, on: string): void {
    const animal = this.of(id);
    const { shares } = this.ownedBy(animal);
    const [giver, receiver, part] = [transfer.from, transfer.to, transfer.shares.get(item) ?? null];
    const whole = [...shares.values()].reduce((sum, parts) => sum + parts, 0);
    // In parts of whole × of, in which both the shares and what moves are whole numbers.
    const of = part?.of ?? 1;
    const moved = part === null ? (shares.get(giver) ?? 0) : part.parts * whole;
    const after = new Map([...shares].map(([owner, parts]) => [owner, parts * of] as const));
    after.set(receiver, (after.get(receiver) ?? 0) + moved);
    after.set(giver, (after.get(giver) ?? 0) - moved);
    this.own(animal, new Map([...after].filter(([, parts]) => parts > 0)), on);
  }

  private ownedBy(animal: Replayed): Owned {
    const last = animal.owners.at(-1);
    if (last === undefined) throw new Error('An entry is about a record that nobody owns.');
    return last;
  }

  private own(animal: Replayed, shares: Map<string, number>, from: string, disputed = false): void {
    const before = animal.owners.at(-1);
    if (before !== undefined) before.to = from;
    animal.owners.push({ shares: new Map(shares), disputed, from, to: null });
  }

  private offer(body: Body): void {
    const { items } = body;
    for (const { animalId, count, splitFrom } of items)
      if (splitFrom !== null) this.partOf(splitFrom, animalId, 'lot', count, body.splitOn);
    this.transfers.set(body.transferId, {
      state: 'offered',
      sentOn: null,
      from: body.fromKeeperId,
      to: body.toKeeperId ?? body.toOutsidePartyId ?? '',
      outside: body.toKeeperId === null,
      title: body.title,
      paidUp: false,
      dueBack: body.dueBack ?? null,
      signed: [],
      shares: new Map(items.map(({ animalId, share }) => [animalId, share ?? null])),
      items: Object.fromEntries(items.map(({ animalId }) => [animalId, ''])),
      eggs: Object.fromEntries((body.eggs ?? []).map((egg) => [eggKey(egg), ''])),
      counts: Object.fromEntries(items.map(({ animalId, count }) => [animalId, count])),
    });
  }

  private arrive(transfer: ReplayedTransfer, { animalId, arrivals, splitBack }: Arrived, on: string): void {
    transfer.items[animalId] = toldOf(arrivals);
    const animal = this.of(animalId);
    // What had died or left on the way has no record that could move.
    if (animal.fate !== 'alive' || animal.custody.at(-1)?.[0] !== transfer.from || animal.custody.at(-1)?.[2] !== null)
      return;
    for (const back of splitBack) {
      this.partOf(animalId, back.animalId, 'lot', back.count, on);
      if (back.missing) this.goMissing(this.of(back.animalId), on);
    }
    const states = arrivals.map(({ state }) => state);
    if (states.every((state) => state === 'missing')) return this.goMissing(animal, on);
    if (states.every((state) => state === 'missing' || state === 'refused')) return;
    this.moveTo(animal, transfer.to, on);
    if (transfer.title === 'on_receipt' || (transfer.title === 'when_paid' && transfer.paidUp))
      this.moveTitle(transfer, animalId, animalId, on);
    const dead = arrivals.find(({ state }) => state === 'dead')?.count ?? 0;
    if (dead > 0) this.die(animal, dead, on);
  }

  private of(id: string): Replayed {
    const animal = this.animals.get(id);
    if (animal === undefined) throw new Error('An entry is about a record that the ledger does not know.');
    return animal;
  }

  private partOf(lotId: string, id: string, kind: string, count: number, on: string): void {
    const lot = this.of(lotId);
    lot.count -= count;
    const holder = lot.custody.at(-1)?.[0] ?? '';
    const { dam } = lot;
    const { shares } = this.ownedBy(lot);
    this.animals.set(id, {
      kind,
      count,
      fate: 'alive',
      dam,
      custody: [[holder, on, null]],
      owners: [{ shares: new Map(shares), disputed: false, from: on, to: null }],
      cameFrom: lotId,
    });
  }

  private die(animal: Replayed, count: number, on: string): void {
    animal.count -= count;
    if (animal.count > 0) return;
    animal.fate = 'dead';
    this.end(animal, on);
  }

  private goMissing(animal: Replayed, on: string): void {
    animal.fate = 'missing';
    this.moveTo(animal, 'unknown', on);
  }

  private end(animal: Replayed, on: string): void {
    const last = animal.custody.at(-1);
    if (last?.[2] === null) last[2] = on;
  }

  /** Whoever has it already goes on having it. */
  private moveTo(animal: Replayed, holder: string, on: string): void {
    if (animal.custody.at(-1)?.[0] === holder) return;
    this.end(animal, on);
    animal.custody.push([holder, on, null]);
  }
}

type Arrived = {
  animalId: string;
  arrivals: { state: string; count: number }[];
  splitBack: { animalId: string; count: number; missing: boolean }[];
};

/** An egg of a transfer, by its clutch and number. */
export const eggKey = ({ clutchId, number }: Pick<EggNamed, 'clutchId' | 'number'>): string => `${clutchId} ${number}`;

function rename(shares: Map<string, number>, party: string, keeper: string): void {
  const parts = shares.get(party);
  if (parts === undefined) return;
  shares.delete(party);
  shares.set(keeper, (shares.get(keeper) ?? 0) + parts);
}

function whereIs(fate: string, keeperId: string): string {
  if (fate === 'alive') return keeperId;
  return fate === 'seized' || fate === 'surrendered' ? 'authority' : 'unknown';
}

/** Arrivals of an item as text: none yet = empty. */
export function toldOf(arrivals: readonly { state: string; count: number }[]): string {
  return arrivals
    .map(({ state, count }) => `${count} ${state}`)
    .toSorted()
    .join();
}
