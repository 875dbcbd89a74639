import { type Animal, close, type LotCause, type LotChange, type LotSaid, type Model, TODAY } from './history-model.js';
import { type Forecast, no, yes } from './forecast.js';

export type Loss = 'died' | 'missing' | 'stolen' | 'escaped';

/** What a lot lost or found is put right, or taken back. `at`: the place of the change among all of the lot. */
export type ChangeCommand = {
  readonly by: string;
  readonly do: 'correctChange';
  readonly lot: string;
  readonly at: number;
  /** It is named as it was first recorded, whatever took its place. */
  readonly old: boolean;
  readonly takeBack: boolean;
  readonly count: number | null;
  readonly on: string | null;
  readonly loss: Loss | null;
};

const LOSSES: readonly LotCause[] = ['died', 'missing', 'stolen', 'escaped'];
const AWAY: readonly LotCause[] = ['missing', 'stolen', 'escaped', 'found'];

export const saidOf = ({ versions }: LotChange): LotSaid => {
  const last = versions.at(-1);
  if (last === undefined) throw new Error('A change of a count says nothing.');
  return last;
};

/** How many are recorded as missing, stolen or escaped, and not found again. */
export function awayOf({ changes }: Animal): number {
  const said = changes.filter(({ inForce }) => inForce).map(saidOf);
  return said.filter(({ cause }) => AWAY.includes(cause)).reduce((sum, { delta }) => sum - delta, 0);
}

/** Whether a change of a lot's count is one that can be corrected. */
export const isCorrectable = ({ cause }: LotSaid): boolean => LOSSES.includes(cause) || cause === 'found';

export function forecastChange(model: Model, command: ChangeCommand): Forecast {
  const { by, at, old } = command;
  const lot = model.animals.get(command.lot);
  const change = lot?.changes[at];
  if (lot === undefined || change === undefined) return no('NOT_FOUND');
  const may = model.authority(by, lot);
  // Who had it once sees the changes of that time, and no later ones.
  if ('refused' in may) return may.refused === 'FORBIDDEN' ? no('FORBIDDEN', 'NOT_FOUND') : no(may.refused);
  if (lot.fate !== 'alive' && lot.fate !== 'dead') return no('ANIMAL_NOT_ALIVE');
  const named = old ? change.versions[0] : saidOf(change);
  if (named === undefined) return no('NOT_FOUND');
  const owns = model.keepersOf(by).some((keeper) => lot.open.has(`owner ${keeper}`));
  if ([named.cause, command.loss].includes('stolen') && !owns) return no('THEFT_BY_OWNER_ONLY');
  const fault = stayFault(lot, at, command.on ?? named.on);
  if (fault !== null) return no(fault);
  if (!change.inForce || named !== saidOf(change)) return no('LOT_CHANGE_NOT_IN_FORCE');
  if (!isCorrectable(named) || (named.cause === 'found' && command.loss !== null))
    return no('LOT_CHANGE_NOT_CORRECTABLE');
  const count = command.count ?? Math.abs(named.delta);
  const corrected = {
    cause: command.loss ?? named.cause,
    delta: named.delta < 0 ? -count : count,
    on: command.on ?? named.on,
  };
  const said = command.takeBack ? null : corrected;
  if (said !== null && said.cause === named.cause && said.delta === named.delta && said.on === named.on)
    return no('LOT_CHANGE_SAME');
  const told = retold(lot, at, said);
  if ('refused' in told) return no(told.refused);
  if (told.left !== lot.count && model.openItem(lot.id) !== null) return no('LOT_CHANGE_OFFERED');
  return yes(() => correct(lot, told));
}

/** What keeps a change from being corrected for whoever had the lot last: it is not of their time, or the day is not. */
function stayFault(lot: Animal, at: number, on: string): string | null {
  const stay = lot.custody.at(-1);
  if (stay === undefined) return 'CUSTODY_NOT_OPEN';
  if (at < stay.since) return 'LOT_CHANGE_BEFORE_STAY';
  if (at < (stay.receipt ?? 0)) return 'LOT_CHANGE_OF_RECEIPT';
  if (on > TODAY) return 'DAY_IN_FUTURE';
  if (on < stay.from) return 'CUSTODY_DAY_TOO_EARLY';
  return stay.to !== null && stay.left !== 'died' && on > stay.to ? 'CUSTODY_NOT_OPEN' : null;
}

/** What all changes in force say afterwards, by their places, and how many are left. */
type Retold = { readonly left: number; readonly now: ReadonlyMap<number, LotSaid> };

/** Tells the story of a lot once more with one change said otherwise, or not at all. */
function retold(lot: Animal, at: number, instead: LotSaid | null): Retold | { readonly refused: string } {
  const story = [...lot.changes.entries()].filter(([, { inForce }]) => inForce);
  const now = new Map<number, LotSaid>();
  let [was, is, away, possible] = [0, 0, 0, true];
  for (const [place, change] of story) {
    const before = saidOf(change);
    const said = place === at ? instead : before;
    const [wasBefore, isBefore] = [was, is];
    was += before.delta;
    is += said?.delta ?? 0;
    if (said !== null) now.set(place, said);
    if (said !== null && AWAY.includes(said.cause)) away -= said.delta;
    if (place === at) {
      if (is < 0) return { refused: 'LOT_TOO_SMALL' };
      if (is === 0 && said?.cause !== 'died') return { refused: 'LOT_LOSS_TAKES_ALL' };
      if (away < 0) return { refused: 'LOT_FOUND_TOO_MANY' };
      continue;
    }
    if (before.cause === 'found' && away < 0) possible = false;
    if (wasBefore === isBefore) continue;
    // Nothing happens to a lot of which none is left.
    if (isBefore === 0) possible = false;
    if (before.cause === 'corrected') {
      // So many were counted then, whatever had been thought before.
      now.set(place, { ...before, delta: was - isBefore });
      is = was;
      continue;
    }
    const endsIt = is === 0 && (before.cause !== 'died' || story.at(-1)?.[0] !== place);
    // What took all took as many as there were.
    if (was === 0 || is < 0 || endsIt) possible = false;
  }
  if (!possible) return { refused: 'LOT_CHANGE_COUNTED_ON' };
  const upTo = (all: readonly LotSaid[], day: string): number =>
    all.filter(({ on }) => on <= day).reduce((sum, { delta }) => sum + delta, 0);
  const [before, after] = [story.map(([, change]) => saidOf(change)), [...now.values()]];
  const short = [...before, ...after].some(({ on }) => upTo(after, on) < Math.min(0, upTo(before, on)));
  return short ? { refused: 'LOT_TOO_SMALL' } : { left: is, now };
}

/** A lot of which none is left has died out on the last day its count changed; one that lives is where it was. */
function correct(lot: Animal, { left, now }: Retold): void {
  for (const [place, change] of lot.changes.entries()) {
    if (!change.inForce) continue;
    const said = now.get(place);
    if (said === undefined) change.inForce = false;
    else if (said !== saidOf(change)) change.versions.push(said);
  }
  const had = lot.count;
  lot.count = left;
  const last = [...now.values()].map(({ on }) => on).reduce((a, b) => (a > b ? a : b));
  const stay = lot.custody.at(-1);
  if (stay === undefined) return;
  if (lot.fate !== 'dead') {
    if (left > 0 || had === 0) return;
    lot.fateBeforeDeath = lot.fate;
    lot.fate = 'dead';
    close(lot, last, 'died');
  } else if (left === 0) stay.to = last;
  else {
    Object.assign(stay, { to: null, left: null });
    lot.fate = lot.fateBeforeDeath;
  }
}
