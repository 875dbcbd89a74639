import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { availabilityOn, availabilityProblems, decideAvailability } from './availability.core.js';
import { pairProblems, pairWarnings, type PairAnimal, unknownOrigins } from './forecast.core.js';
import { decideClose, decideMessage, MAX_MESSAGES, otherSideLabel, type ThreadState } from './thread.core.js';

const rule = (decision: { ok: boolean; refusal?: { rule: string } }) => decision.refusal?.rule ?? 'ok';

describe('a thread', () => {
  const thread: ThreadState = { closed: false, revealed: false, messages: 1, unanswered: 1 };
  it('is written in while it is open, by an asker not more than three times without an answer', () => {
    expect(rule(decideMessage(thread, 'asker', false))).toBe('ok');
    expect(rule(decideMessage({ ...thread, unanswered: 3 }, 'asker', false))).toBe('THREAD_AWAITS_ANSWER');
    expect(rule(decideMessage({ ...thread, unanswered: 3 }, 'holder', false))).toBe('ok');
    expect(rule(decideMessage({ ...thread, messages: MAX_MESSAGES }, 'holder', false))).toBe('THREAD_FULL');
    expect(rule(decideMessage({ ...thread, closed: true }, 'holder', false))).toBe('THREAD_CLOSED');
    expect(rule(decideClose({ closed: true }))).toBe('THREAD_CLOSED');
    expect(rule(decideClose({ closed: false }))).toBe('ok');
  });
  it('shows names when the holder says so, and once', () => {
    expect(rule(decideMessage(thread, 'asker', true))).toBe('THREAD_HOLDER_REVEALS');
    expect(decideMessage(thread, 'holder', true)).toEqual({ ok: true, value: { reveal: true } });
    expect(decideMessage({ ...thread, revealed: true }, 'holder', true)).toEqual({
      ok: true,
      value: { reveal: false },
    });
  });
  it('calls the other side by no name until then', () => {
    expect(otherSideLabel('asker', null, true)).toBe('A keeper');
    expect(otherSideLabel('holder', null, true)).toBe('A keeper of your club');
    expect(otherSideLabel('holder', null, false)).toBe('A keeper who sees this animal');
    expect(otherSideLabel('asker', 'Marsh House', false)).toBe('Marsh House');
  });
});

describe('availability', () => {
  const today = day('2026-06-01');
  const said = { open: true, until: null, offers: [] } as const;
  it('is said of living single animals, and taken back of any', () => {
    expect(rule(decideAvailability({ kind: 'lot', fate: 'alive' }, said))).toBe('NOT_AN_INDIVIDUAL');
    expect(rule(decideAvailability({ kind: 'individual', fate: 'dead' }, said))).toBe('ANIMAL_NOT_ALIVE');
    expect(rule(decideAvailability({ kind: 'individual', fate: 'dead' }, null))).toBe('ok');
    expect(rule(decideAvailability({ kind: 'individual', fate: 'alive' }, said))).toBe('ok');
  });
  it('ends after its last day', () => {
    const until = { ...said, until: day('2026-06-10') };
    expect(availabilityOn(until, day('2026-06-10'))).toEqual(until);
    expect(availabilityOn(until, day('2026-06-11'))).toBeNull();
    expect(availabilityOn(null, today)).toBeNull();
  });
  it('names what makes no sense', () => {
    expect(availabilityProblems({ ...said, until: day('2026-05-31') }, today).map(({ path }) => path)).toEqual([
      'input.until',
    ]);
    expect(availabilityProblems({ open: false, until: null, offers: ['loan'] }, today).map(({ path }) => path)).toEqual(
      ['input.offers'],
    );
    expect(availabilityProblems({ open: true, until: today, offers: ['loan'] }, today)).toEqual([]);
  });
});

describe('a pair', () => {
  const dam: PairAnimal = {
    id: 'a',
    kind: 'individual',
    taxonId: 't',
    lineId: null,
    sex: 'female',
    originClass: 'bred',
  };
  const sire: PairAnimal = { ...dam, id: 'b', sex: 'male' };
  const codes = (d: PairAnimal, s: PairAnimal, kinship: number) =>
    pairWarnings(d, s, kinship, 'as close as first cousins').map(({ code }) => code);
  it('is refused across taxa, for lots, and for no or too many offspring', () => {
    expect(pairProblems(dam, sire, 1)).toEqual([]);
    expect(pairProblems(dam, { ...sire, taxonId: 'u', kind: 'lot' }, 21).map(({ path }) => path)).toEqual([
      'offspring',
      'sireId',
      'sireId',
    ]);
  });
  it('is warned of for sex, line and kinship', () => {
    expect(codes(dam, sire, 0.0624)).toEqual([]);
    expect(codes(dam, sire, 0.0625)).toEqual(['PAIR_CLOSELY_RELATED']);
    expect(codes(sire, dam, 0)).toEqual(['PAIR_DAM_IS_MALE', 'PAIR_SIRE_IS_FEMALE']);
    expect(codes(dam, { ...sire, lineId: 'x' }, 0)).toEqual(['PAIR_LINES_DIFFER']);
    expect(codes(dam, dam, 0.5)).toEqual(['PAIR_SAME_ANIMAL']);
  });
  it('says what is not recorded of the two', () => {
    expect(unknownOrigins({ ...dam, originClass: 'unknown' }, { ...sire, sex: 'unknown' })).toEqual([
      'the origin of the dam is not known',
      'the sex of the sire is not known',
    ]);
  });
});
