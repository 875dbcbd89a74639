/**
 * A second, small account of who has and owns what, and who may do what: written from the rules of the API guide, with no line
 * of the program's own. It predicts whether a command is refused and what it leaves behind. Days are ISO texts, compared as such.
 */

import { type Clutch } from './clutch.js';

export const TODAY = '2026-06-10';

/** `first`: how a record that came out of a lot begins. `loan`: it arrived by this loan. */
export type Span = {
  holder: string;
  from: string;
  to: string | null;
  left: string | null;
  first?: boolean;
  loan?: string;
  /** How many changes of its count were recorded before it began, and with its receipt. */
  since: number;
  receipt?: number;
};
/** Why the count of a lot changed; `made`: it began with so many. */
export type LotCause =
  | 'made'
  | 'split_out'
  | 'joined_in'
  | 'joined_out'
  | 'raised_out'
  | 'died'
  | 'missing'
  | 'stolen'
  | 'escaped'
  | 'found'
  | 'corrected';
export type LotSaid = { readonly cause: LotCause; readonly delta: number; readonly on: string };
/** All that was said of a change, the last in force unless it was taken back. */
export type LotChange = { readonly versions: LotSaid[]; inForce: boolean };
/** Whole-number parts of an animal by owner. */
export type Shares = ReadonlyMap<string, number>;
export type OwnerSpan = { shares: Shares; disputed: boolean; from: string; to: string | null };

export type Animal = {
  readonly id: string;
  readonly kind: 'individual' | 'lot';
  count: number;
  fate: string;
  fateBeforeDeath: string;
  readonly custody: Span[];
  readonly owners: OwnerSpan[];
  /** Relations in force, `relation keeper`, and keepers who read what was recorded while they had it. */
  readonly open: Set<string>;
  readonly past: Set<string>;
  mergedInto: string | null;
  /** The arrival quarantine it is in, under any name. */
  quarantine: string | null;
  dam: string | null;
  /** Of a lot: how its count came about, in the order in which it was recorded. */
  readonly changes: LotChange[];
  /** What it came out of: a lot it was split off or raised from. */
  cameFrom: string | null;
  /** An owner's report of theft that nobody closed. */
  reported: boolean;
  /** The day it hatched, of what came out of a clutch here. */
  born: string | null;
  /** Loans by which it, or what it came out of, was lent last. */
  lent: Set<string>;
  /** One of the young of a loan: of which clutch, and which side picked it. */
  young: { readonly clutch: string; pickedBy: LoanSide | null } | null;
};

export type LoanSide = 'lender' | 'borrower';
/** What is agreed about a loan. Turns are in halves; without `first` each of the young is of both. */
export type LoanSaid = {
  readonly recallDays: number | null;
  readonly split: {
    readonly lender: number;
    readonly of: number;
    readonly first?: LoanSide;
    readonly odd?: LoanSide | 'alternates';
  } | null;
};
/** An ask for another last day, or a recall. */
export type Ask = { readonly id: string; readonly by: LoanSide; readonly dueBack: string; outcome: string | null };
export type Side = 'giver' | 'receiver';
export type Role = 'owner' | 'helper' | 'guardian';

export type Told = { readonly state: string; readonly count: number };
export type Item = {
  readonly animalId: string;
  readonly count: number;
  told: readonly Told[] | null;
  notSent: boolean;
  on: string | null;
  /** The part of the whole animal that moves; null = all the giver owns. */
  readonly share: Part | null;
  /** It has arrived, and its property waits for the price. */
  due: boolean;
};
/** `told`: the state in which it arrived. */
export type TransferEgg = {
  readonly clutch: string;
  readonly number: number;
  told: string | null;
  notSent: boolean;
};
/** A code the giver opened, with a reason or without, and how often something else was entered. */
export type Code = {
  readonly text: string;
  readonly reason: boolean;
  readonly opened: number;
  wrong: number;
  used: boolean;
};
export type Part = { readonly parts: number; readonly of: number };
export type Title = 'on_receipt' | 'when_paid' | 'stays';
export type Payment = { readonly id: string; readonly minor: number; state: 'declared' | 'confirmed' | 'questioned' };
export type Claim = {
  readonly id: string;
  readonly animal: string;
  readonly claimant: string;
  /** In the order of their numbers, the claimant first; `recorded` are its parts when the claim was made. */
  readonly parties: { owner: string; readonly recorded: number; proposed: number; agreed: boolean; replied: boolean }[];
  proposal: number;
  /** When it ended, in the order of things. */
  ended: number | null;
};
export type Transfer = {
  readonly id: string;
  state: string;
  readonly from: string;
  to: string;
  outside: boolean;
  readonly outsideId: string | null;
  readonly code: string | null;
  readonly answerBy: string | null;
  sentOn: string | null;
  failure: { kind: string; side: string } | null;
  readonly items: Item[];
  readonly eggs: TransferEgg[];
  /** The last of them alone works. */
  readonly codes: Code[];
  readonly kind: string;
  readonly title: Title;
  readonly price: number;
  readonly payments: Payment[];
  accepted: boolean;
  /** Sides for which a guardian has agreed. */
  readonly signed: Set<Side>;
  readonly loan: LoanSaid | null;
  dueBack: string | null;
  readonly asks: Ask[];
  /** Clutches whose young are divided by it, in the order in which they had some. */
  readonly clutches: string[];
  paidUp: boolean;
  /** When it was received, in the order of things. */
  received: number | null;
};

export class Model {
  readonly animals = new Map<string, Animal>();
  readonly transfers = new Map<string, Transfer>();
  readonly claims = new Map<string, Claim>();
  readonly clutches = new Map<string, Clutch>();
  /** Codes each account entered. */
  readonly entered = new Map<string, number>();
  /** Minutes that have passed. */
  minute = 0;
  private moment = 0;
  /** Who acts for each keeper, and as what. */
  readonly roles = new Map<string, Map<string, Role>>();

  /** The next moment, where only the order counts. */
  tick(): number {
    this.moment += 1;
    return this.moment;
  }

  isKeeper(party: string): boolean {
    return this.roles.has(party);
  }

  /** Whether an account decides for the keeper: as an owner or a guardian, not as a helper. */
  heads(account: string, keeper: string): boolean {
    const role = this.roles.get(keeper)?.get(account);
    return role === 'owner' || role === 'guardian';
  }

  guards(account: string, keeper: string): boolean {
    return this.roles.get(keeper)?.get(account) === 'guardian';
  }

  /** Whether it is the keeper of a minor, who has a guardian here. */
  isMinors(keeper: string): boolean {
    return [...(this.roles.get(keeper)?.values() ?? [])].includes('guardian');
  }

  /** Makes these the owners of a record from a day on; who owned it goes on reading what was recorded. */
  own(animal: Animal, shares: Shares, from: string, disputed = false): void {
    const before = animal.owners.find(({ to }) => to === null);
    if (before !== undefined) {
      before.to = from;
      for (const owner of before.shares.keys())
        if (!shares.has(owner) && animal.open.delete(`owner ${owner}`)) animal.past.add(owner);
    }
    animal.owners.push({ shares, disputed, from, to: null });
    for (const owner of shares.keys()) if (this.isKeeper(owner)) animal.open.add(`owner ${owner}`);
  }

  /** Records that came out of a lot, and out of those, that a keeper first had. */
  partsOf(lotId: string, keeper: string): Animal[] {
    const parts = [...this.animals.values()].filter(
      (each) =>
        each.cameFrom === lotId && each.custody.some(({ holder, first }) => first === true && holder === keeper),
    );
    return parts.flatMap((part) => [part, ...this.partsOf(part.id, keeper)]);
  }

  acts(account: string, keeper: string): boolean {
    return this.roles.get(keeper)?.has(account) === true;
  }

  keepersOf(account: string): string[] {
    return [...this.roles].filter(([, people]) => people.has(account)).map(([keeper]) => keeper);
  }

  sees(account: string, animal: Animal | undefined): boolean {
    if (animal === undefined) return false;
    const mine = this.keepersOf(account);
    return mine.some(
      (keeper) =>
        animal.past.has(keeper) || ['holder', 'owner', 'receiver'].some((how) => animal.open.has(`${how} ${keeper}`)),
    );
  }

  /** The keeper on whose behalf an account writes to a record, or the code that refuses it. */
  authority(account: string, animal: Animal | undefined, holderOnly = true): { keeper: string } | { refused: string } {
    if (animal === undefined) return { refused: 'NOT_FOUND' };
    const mine = this.keepersOf(account);
    for (const relation of holderOnly ? ['holder'] : ['holder', 'owner']) {
      const keeper = mine.find((each) => animal.open.has(`${relation} ${each}`));
      if (keeper !== undefined) return animal.mergedInto === null ? { keeper } : { refused: 'RECORD_MERGED' };
    }
    return { refused: this.sees(account, animal) ? 'FORBIDDEN' : 'NOT_FOUND' };
  }

  openItem(animalId: string): { transfer: Transfer; item: Item } | null {
    for (const transfer of this.transfers.values()) {
      if (!['offered', 'accepted', 'sent'].includes(transfer.state)) continue;
      const item = transfer.items.find((each) => each.animalId === animalId && each.told === null && !each.notSent);
      if (item !== undefined) return { transfer, item };
    }
    return null;
  }

  hasMerged(id: string): boolean {
    return [...this.animals.values()].some((each) => each.mergedInto === id);
  }

  /** The record that stands for one in the pedigree. */
  private one(id: string): string {
    return this.animals.get(id)?.mergedInto ?? id;
  }

  /** Whether one of two descends from the other, merged records counted as one animal. */
  inLine(a: string, b: string): boolean {
    const up = (from: string, to: string): boolean => {
      const open = [this.one(from)];
      const done = new Set<string>();
      for (let next = open.pop(); next !== undefined; next = open.pop()) {
        if (next === this.one(to)) return true;
        if (done.has(next)) continue;
        done.add(next);
        const kept = this.animals.get(next)?.dam ?? null;
        const dams = kept === null ? [...this.animals.values()].filter((each) => each.mergedInto === next) : [];
        for (const dam of kept === null ? dams.map((each) => each.dam) : [kept])
          if (dam !== null) open.push(this.one(dam));
      }
      return false;
    };
    return up(a, b) || up(b, a);
  }
}

export function held(animal: Animal): Span | undefined {
  return animal.custody.find(({ to }) => to === null);
}

/** Why nobody can act on that day for whoever has the animal, or null. */
export function dayFault(animal: Animal, on: string): string | null {
  const span = held(animal);
  if (span === undefined) return 'CUSTODY_NOT_OPEN';
  if (on > TODAY) return 'DAY_IN_FUTURE';
  return on < span.from ? 'CUSTODY_DAY_TOO_EARLY' : null;
}

/** The count of a record changes: of a lot, with why. */
export function changeCount(animal: Animal, cause: LotCause, delta: number, on: string): void {
  animal.count += delta;
  if (animal.kind === 'lot') animal.changes.push({ versions: [{ cause, delta, on }], inForce: true });
}

export function close(animal: Animal, on: string, left: string): void {
  const span = held(animal);
  if (span === undefined) throw new Error('The model ends what has ended.');
  span.to = on;
  span.left = left;
}

export function begin(animal: Animal, holder: string, from: string, isKeeper = true): void {
  const since = animal.changes.length;
  if (animal.kind === 'lot' && since === 0)
    animal.changes.push({ versions: [{ cause: 'made', delta: animal.count, on: from }], inForce: true });
  animal.custody.push({ holder, from, to: null, left: null, since });
  if (isKeeper) animal.open.add(`holder ${holder}`);
}

/** The owners of a record now, and whether they disagree. */
export function owned(animal: Animal): OwnerSpan {
  const now = animal.owners.find(({ to }) => to === null);
  if (now === undefined) throw new Error('The model knows of a record that nobody owns.');
  return now;
}

/** The loan by whose terms one of the young is divided, as long as its two sides and nobody else own it. */
export function dividedBy(model: Model, animal: Animal): Transfer | null {
  const loan = model.transfers.get(model.clutches.get(animal.young?.clutch ?? '')?.loan ?? '');
  if (loan === undefined || animal.mergedInto !== null) return null;
  const { shares } = owned(animal);
  return shares.size === 2 && shares.has(loan.from) && shares.has(loan.to) ? loan : null;
}

/** A record that comes out of another one, with the same holder and owner from the day on. */
export function offspringOf(
  model: Model,
  lot: Animal,
  id: string,
  kind: Animal['kind'],
  count: number,
  on: string,
): Animal {
  const made = newAnimal(id, kind, count);
  made.dam = lot.dam;
  made.quarantine = lot.quarantine;
  made.cameFrom = lot.id;
  made.born = lot.born;
  made.lent = new Set(lot.lent);
  if (lot.young !== null && dividedBy(model, lot) !== null) made.young = { clutch: lot.young.clutch, pickedBy: null };
  const holder = held(lot)?.holder ?? '';
  begin(made, holder, on);
  for (const span of made.custody) span.first = true;
  model.own(made, owned(lot).shares, on);
  return made;
}

export function newAnimal(id: string, kind: Animal['kind'], count: number): Animal {
  return {
    id,
    kind,
    count,
    fate: 'alive',
    fateBeforeDeath: 'alive',
    custody: [],
    owners: [],
    open: new Set(),
    past: new Set(),
    mergedInto: null,
    quarantine: null,
    dam: null,
    changes: [],
    cameFrom: null,
    reported: false,
    born: null,
    lent: new Set(),
    young: null,
  };
}

/** The animal lives and is with an authority, or nobody knows where. */
export function loseTo(animal: Animal, fate: string, on: string): string | null {
  const holder = fate === 'seized' || fate === 'surrendered' ? 'authority' : 'unknown';
  if (held(animal)?.holder !== holder) {
    const fault = dayFault(animal, on);
    if (fault !== null) return fault;
    close(animal, on, fate);
    animal.custody.push({ holder, from: on, to: null, left: null, since: animal.changes.length });
  }
  animal.fate = fate;
  return null;
}
