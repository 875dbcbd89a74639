import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { enterQuarantine, longestRule, MAX_GROUP, type Newcomer, releaseQuarantine } from './quarantine-rules.core.js';
import { type Quarantine } from './quarantine.core.js';

const TODAY = day('2026-02-10');

function newcomer(change: Partial<Newcomer> = {}): Newcomer {
  return { animalId: 'A', alive: true, heldSince: day('2026-01-01'), stays: [], ...change };
}

function group(change: Partial<Quarantine> = {}, leftOn: string | null = null): Quarantine {
  const stay = { animalId: 'X', orderName: 'Anura', className: 'Amphibia', enteredOn: day('2026-01-20') };
  return {
    days: 30,
    restartScope: 'order',
    released: null,
    entries: [{ ...stay, leftOn: leftOn === null ? null : day(leftOn) }],
    ...change,
  };
}

const ruleOf = (decision: ReturnType<typeof enterQuarantine> | ReturnType<typeof releaseQuarantine>) =>
  decision.ok ? 'ok' : decision.refusal.rule;

describe('longestRule', () => {
  it('takes the longest, and between equal rules the first species in alphabetical order', () => {
    const frog = { scientificName: 'Dendrobates auratus', days: 60, source: 'practice of frog keepers' };
    const gecko = { scientificName: 'Correlophus ciliatus', days: 60, source: 'practice of gecko keepers' };
    const python = { scientificName: 'Morelia viridis', days: 90, source: 'practice of snake keepers' };
    expect(longestRule([frog, python, gecko])).toEqual({
      days: 90,
      source: 'Morelia viridis: practice of snake keepers',
    });
    const named = { days: 60, source: 'Correlophus ciliatus: practice of gecko keepers' };
    expect([longestRule([frog, gecko]), longestRule([gecko, frog])]).toEqual([named, named]);
    expect(longestRule([])).toBeNull();
  });
});

describe('enterQuarantine', () => {
  const enter = (change: Partial<Newcomer>, enteredOn = '2026-02-01', into: Quarantine | null = null) =>
    enterQuarantine(into, [newcomer(change)], day(enteredOn), TODAY);

  it('takes living animals the keeper has on a day that was', () => {
    expect(enter({})).toEqual({ ok: true, value: [] });
    expect(enter({}, '2026-01-01')).toEqual({ ok: true, value: [] });
    expect(enter({}, TODAY)).toEqual({ ok: true, value: [] });
  });

  it.each([
    ['DAY_IN_FUTURE', {}, '2026-02-11'],
    ['CUSTODY_DAY_TOO_EARLY', {}, '2025-12-31'],
    ['ANIMAL_NOT_ALIVE', { alive: false }, '2026-02-01'],
  ] as const)('refuses %s', (rule, change, on) => {
    expect(ruleOf(enter(change, on))).toBe(rule);
  });

  it('names the animals that stand in the way, and the day that would do', () => {
    const decision = enterQuarantine(
      null,
      [newcomer(), newcomer({ animalId: 'B', heldSince: day('2026-02-05') })],
      day('2026-02-01'),
      TODAY,
    );
    expect(decision).toMatchObject({
      refusal: { blockers: [{ kind: 'animal', id: 'B', remedy: 'Write 2026-02-05 or a later day.' }] },
    });
  });

  it('closes a stay elsewhere that was over, and refuses one that was not, open or closed', () => {
    const stay = { entryId: 'E', enteredOn: day('2026-01-01'), leftOn: null, endsOn: day('2026-01-31') };
    expect(enter({ stays: [stay] })).toEqual({ ok: true, value: [{ entryId: 'E', leftOn: '2026-01-31' }] });
    expect(ruleOf(enter({ stays: [stay] }, '2026-01-30'))).toBe('ALREADY_IN_QUARANTINE');
    const left = { ...stay, leftOn: day('2026-01-15') };
    expect(enter({ stays: [left] }, '2026-01-15')).toEqual({ ok: true, value: [] });
    expect(ruleOf(enter({ stays: [left] }, '2026-01-14'))).toBe('ALREADY_IN_QUARANTINE');
  });

  it('lets nobody join what is over, released or empty, but may learn late of a joining while it lasted', () => {
    expect(ruleOf(enter({}, '2026-02-01', group()))).toBe('ok');
    expect(ruleOf(enter({}, '2026-01-10', group()))).toBe('ok');
    const short = group({ days: 5 });
    expect(ruleOf(enter({}, '2026-01-24', short))).toBe('ok');
    expect(ruleOf(enter({}, '2026-01-25', short))).toBe('QUARANTINE_OVER');
    expect(ruleOf(enter({}, '2026-01-24', group({}, '2026-02-01')))).toBe('QUARANTINE_OVER');
  });

  it('keeps a group small', () => {
    const [first] = group().entries;
    const full = group({
      entries: Array.from({ length: MAX_GROUP }, () => first).filter((each) => each !== undefined),
    });
    expect(ruleOf(enter({}, '2026-02-01', full))).toBe('QUARANTINE_FULL');
  });
});

describe('releaseQuarantine', () => {
  const release = (on: string, reason: string | null = null, from = group()) =>
    releaseQuarantine(from, day(on), reason, TODAY);

  it('needs a reason before the end, and none from that day on', () => {
    expect(ruleOf(release('2026-02-01'))).toBe('RELEASE_REASON_NEEDED');
    expect(release('2026-02-01', 'the veterinarian says so')).toEqual({ ok: true, value: { early: true } });
    const short = group({ days: 20 });
    expect(ruleOf(release('2026-02-08', null, short))).toBe('RELEASE_REASON_NEEDED');
    expect(release('2026-02-09', null, short)).toEqual({ ok: true, value: { early: false } });
  });

  it.each([
    ['DAY_IN_FUTURE', '2026-02-11', group()],
    ['RELEASE_BEFORE_ENTRY', '2026-01-19', group()],
    ['QUARANTINE_OVER', '2026-02-01', group({}, '2026-01-25')],
  ] as const)('refuses %s', (rule, on, from) => {
    expect(ruleOf(release(on, 'a reason', from))).toBe(rule);
  });
});
