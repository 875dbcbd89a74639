/**
 * A second, small account of who has and owns what, and who may do what: written from the rules of the API guide, with no line
 * of the program's own. It predicts whether a command is refused and what it leaves behind. Days are ISO texts, compared as such.
 */

export const TODAY = '2026-06-10';

export type Span = { holder: string; from: string; to: string | null; left: string | null };
export type OwnerSpan = { owner: string; from: string; to: string | null };

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
  /** Of a lot: recorded as missing, stolen or escaped, and not found. */
  away: number;
};

export type Told = { readonly state: string; readonly count: number };
export type Item = {
  readonly animalId: string;
  readonly count: number;
  told: readonly Told[] | null;
  notSent: boolean;
  on: string | null;
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
};

export class Model {
  readonly animals = new Map<string, Animal>();
  readonly transfers = new Map<string, Transfer>();
  /** Who acts for each keeper, and as what. */
  readonly roles = new Map<string, Map<string, 'owner' | 'helper'>>();
  /** Kept so that the stock books can be told apart: a recount leaves something unexplained. */
  recounted = false;

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

export function close(animal: Animal, on: string, left: string): void {
  const span = held(animal);
  if (span === undefined) throw new Error('The model ends what has ended.');
  span.to = on;
  span.left = left;
}

export function begin(animal: Animal, holder: string, from: string, isKeeper = true): void {
  animal.custody.push({ holder, from, to: null, left: null });
  if (isKeeper) animal.open.add(`holder ${holder}`);
}

export function own(animal: Animal, owner: string, from: string, isKeeper = true): void {
  const before = animal.owners.find(({ to }) => to === null);
  if (before !== undefined) {
    before.to = from;
    if (before.owner !== owner && animal.open.delete(`owner ${before.owner}`)) animal.past.add(before.owner);
  }
  animal.owners.push({ owner, from, to: null });
  if (isKeeper) animal.open.add(`owner ${owner}`);
}

/** A record that comes out of another one, with the same holder and owner from the day on. */
export function offspringOf(lot: Animal, id: string, kind: Animal['kind'], count: number, on: string): Animal {
  const made = newAnimal(id, kind, count);
  made.dam = lot.dam;
  made.quarantine = lot.quarantine;
  const holder = held(lot)?.holder ?? '';
  begin(made, holder, on);
  own(made, lot.owners.at(-1)?.owner ?? '', on);
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
    away: 0,
  };
}

/** The animal lives and is with an authority, or nobody knows where. */
export function loseTo(animal: Animal, fate: string, on: string): string | null {
  const holder = fate === 'seized' || fate === 'surrendered' ? 'authority' : 'unknown';
  if (held(animal)?.holder !== holder) {
    const fault = dayFault(animal, on);
    if (fault !== null) return fault;
    close(animal, on, fate);
    animal.custody.push({ holder, from: on, to: null, left: null });
  }
  animal.fate = fate;
  return null;
}
