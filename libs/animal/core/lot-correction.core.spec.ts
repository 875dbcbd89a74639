import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day, type Day } from '../../kernel/index.js';
import { decideLotCorrection, type LotChangeVersion, type LotCorrection } from './lot-correction.core.js';
import { LOT_LOSSES, type LotCause, type LotLoss } from './lot.core.js';

const BEGIN = day('2026-06-01');
const OPENED = 12;

/** What a keeper says of a lot, one after the other. */
type Statement =
  | { readonly say: LotLoss | 'found' | 'split_out' | 'joined_in'; readonly count: number; readonly on: Day }
  | { readonly say: 'recount'; readonly count: number; readonly on: Day };
/** A statement as a change of the count. */
type Told = { readonly cause: LotCause; readonly delta: number; readonly on: Day };

/** A lot as the rules of the guide have it, told from the beginning; null where a statement cannot be. */
function tell(statements: readonly Statement[]): { told: Told[]; left: number } | null {
  const told: Told[] = [];
  let [left, away, dead] = [OPENED, 0, false];
  for (const { say, count, on } of statements) {
    if (dead) return null;
    const delta = say === 'recount' ? count - left : say === 'found' || say === 'joined_in' ? count : -count;
    left += delta;
    if (say === 'missing' || say === 'stolen' || say === 'escaped') away += count;
    if (say === 'found') away -= count;
    if (left < 0 || away < 0 || (left === 0 && say !== 'died')) return null;
    dead = left === 0;
    told.push({ cause: say === 'recount' ? 'corrected' : say, delta, on });
  }
  const days = told.map((each) => each.on);
  const upTo = (last: Day): number => told.reduce((sum, each) => sum + (each.on <= last ? each.delta : 0), OPENED);
  return days.some((each) => upTo(each) < 0) ? null : { told, left };
}

const statement: fc.Arbitrary<Statement> = fc.record({
  say: fc.constantFrom(...LOT_LOSSES, 'found', 'split_out', 'joined_in', 'recount'),
  count: fc.integer({ min: 1, max: 9 }),
  on: fc.integer({ min: 0, max: 6 }).map((n) => addDays(BEGIN, n)),
});

/** The table of changes as the store keeps it. */
class Table {
  versions: LotChangeVersion[] = [];
  /** The version in force that tells each statement. */
  readonly at: (string | null)[] = [];
  private moment = 0;

  write(said: Told, counterpartId: string | null = null): string {
    this.moment += 1;
    const id = String(this.moment).padStart(5, '0');
    const recordedAt = new Date(this.moment);
    this.versions.push({ ...said, id, counterpartId, recordedAt, supersededAt: null, supersededBy: null });
    return id;
  }

  supersede(id: string, instead: Told | null): string | null {
    const by = instead === null ? null : this.write(instead);
    this.versions = this.versions.map((each) =>
      each.id === id ? { ...each, supersededAt: new Date(this.moment), supersededBy: by } : each,
    );
    for (const [i, each] of this.at.entries()) if (each === id) this.at[i] = by;
    return by;
  }

  inForce(): Told[] {
    return this.versions
      .filter(({ supersededAt }) => supersededAt === null)
      .map(({ cause, delta, on }) => ({ cause, delta, on }));
  }
}

const key = ({ cause, delta, on }: Told): string => `${on} ${cause} ${delta}`;

describe('a corrected lot', () => {
  it('stands as if it had been said so from the start, or is refused where that could not have been', () => {
    const seen = { done: 0, refused: 0, recounts: 0 };
    const correction = fc.record({
      which: fc.nat(1000),
      takeBack: fc.boolean(),
      count: fc.option(fc.integer({ min: 1, max: 9 }), { nil: undefined }),
      on: fc.option(
        fc.integer({ min: 0, max: 6 }).map((n) => addDays(BEGIN, n)),
        { nil: undefined },
      ),
      cause: fc.option(fc.constantFrom(...LOT_LOSSES), { nil: undefined }),
    });
    fc.assert(
      fc.property(
        fc.array(statement, { minLength: 1, maxLength: 9 }),
        fc.array(correction, { minLength: 1, maxLength: 4 }),
        (drawn, corrections) => {
          let said: (Statement | null)[] = [];
          const table = new Table();
          table.write({ cause: 'opening', delta: OPENED, on: BEGIN });
          for (const each of drawn) {
            const told = tell([...said, each].flatMap((one) => one ?? []));
            if (told === null) continue;
            said.push(each);
            const change = told.told.at(-1);
            const other = each.say === 'split_out' || each.say === 'joined_in' ? 'other' : null;
            table.at.push(change === undefined ? null : table.write(change, other));
          }
          for (const { which, ...put } of corrections) {
            const i = which % Math.max(1, said.length);
            const before = said[i];
            const change = table.versions.find(({ id }) => id === table.at[i]);
            if (before === undefined || before === null || change === undefined) continue;
            const command: LotCorrection = put.takeBack ? { takeBack: true } : put;
            const answer = decideLotCorrection(table.versions, change, command);
            const now: Statement | null = put.takeBack ? null : after(before, put);
            const next = said.with(i, now);
            const told = tell(next.flatMap((one) => one ?? []));
            const isLoss = before.say === 'found' || (LOT_LOSSES as readonly string[]).includes(before.say);
            const same = now !== null && JSON.stringify(now) === JSON.stringify(before);
            const possible =
              isLoss &&
              !same &&
              !(before.say === 'found' && !put.takeBack && put.cause !== undefined) &&
              told !== null &&
              diesAlike(said, next, i);
            expect({ possible: answer.ok, why: answer.ok ? null : answer.refusal.rule }).toMatchObject({ possible });
            if (!answer.ok || told === null) {
              seen.refused++;
              continue;
            }
            for (const { id, instead } of answer.value.revisions) table.supersede(id, instead);
            said = next;
            seen.done++;
            if (answer.value.revisions.length > 1) seen.recounts++;
            expect(answer.value.left).toBe(told.left);
            const expected = [{ cause: 'opening', delta: OPENED, on: BEGIN } as const, ...told.told];
            expect(table.inForce().map(key).toSorted()).toEqual(expected.map(key).toSorted());
            expect(answer.value.lastOn).toBe(
              expected
                .map(({ on }) => on)
                .toSorted()
                .at(-1),
            );
          }
        },
      ),
      { numRuns: 3000 },
    );
    expect(seen.done).toBeGreaterThan(300);
    expect(seen.refused).toBeGreaterThan(300);
    expect(seen.recounts).toBeGreaterThan(30);
  });
});

function after(before: Statement, { count, on, cause }: Omit<LotCorrection, 'takeBack'>): Statement {
  const say = cause !== undefined && before.say !== 'found' && before.say !== 'recount' ? cause : before.say;
  return { say, count: count ?? before.count, on: on ?? before.on };
}

/** A death of all there were, other than the corrected statement, is one of all there were afterwards too. */
function diesAlike(
  before: readonly (Statement | null)[],
  after: readonly (Statement | null)[],
  corrected: number,
): boolean {
  const last = before.length - 1;
  if (last === corrected || before[last]?.say !== 'died') return true;
  const left = (statements: readonly (Statement | null)[]) => tell(statements.flatMap((one) => one ?? []))?.left;
  return left(before) !== 0 || left(after) === 0;
}
