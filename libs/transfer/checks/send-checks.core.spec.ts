import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { checkSending, DEFAULT_POLICY, passChecks, type SendFacts } from './send-checks.core.js';
import { type TransferCondition } from '../core/transfer.core.js';
import { offered } from '../core/transfer-fixtures.js';

const ON = day('2026-06-10');
const WELL: SendFacts = {
  animalId: 'a',
  appendix: null,
  documentKinds: [],
  inQuarantine: false,
  loan: null,
  reported: null,
  disputed: false,
  bornAt: { latest: null },
  lastGrams: null,
  minimum: null,
};
const GIFT = offered();
const check = (facts: Partial<SendFacts>, conditions: TransferCondition[] = [], policy = DEFAULT_POLICY) =>
  checkSending({ ...GIFT, conditions }, [{ ...WELL, ...facts }], policy, ON);
const condition = (changes: Partial<TransferCondition>): TransferCondition => {
  return { id: 'c', kind: 'other', documentKind: null, text: 'the cage is built', settledAs: null, ...changes };
};

const EGG = { eggId: 'e', clutchId: 'c', number: 1, arrival: null, receivedOn: null, notSent: false };

describe('eggs that go along', () => {
  const found = (conditions: TransferCondition[] = []) =>
    checkSending({ ...GIFT, conditions, eggs: [EGG] }, [], DEFAULT_POLICY, ON);

  it('are told of once: what is not looked at, and who decides; they are sent all the same', () => {
    const [note, ...more] = found();
    expect(more).toEqual([]);
    expect(note).toMatchObject({ check: 'eggs', effect: 'warn', subjectId: GIFT.id });
    expect(note?.fact).toContain('for animals only');
    expect(note?.clears).toContain('the local authority decides');
    expect(passChecks(found(), false)).toMatchObject({ ok: true, value: [{ check: 'eggs' }] });
  });

  it('a document that was agreed on is open until the receiver settles it', () => {
    const agreed = condition({ kind: 'document', documentKind: 'permit', text: null });
    expect(found([agreed]).map(({ check: name, effect }) => [name, effect])).toEqual([
      ['condition', 'block'],
      ['eggs', 'warn'],
    ]);
    expect(found([{ ...agreed, settledAs: 'met' }]).map(({ check: name }) => name)).toEqual(['eggs']);
  });
});

describe('checks before sending', () => {
  it('given an animal nothing is known against, finds nothing', () => {
    expect(check({})).toEqual([]);
    expect(passChecks([], false)).toEqual({ ok: true, value: [] });
  });

  it.each([
    ['I', [], 1],
    ['II', [], 1],
    ['II', ['certificate'], 0],
    ['III', [], 0],
    ['none', [], 0],
  ])('given appendix %s and documents %j, warns %d times', (appendix, documentKinds, times) => {
    const found = check({ appendix, documentKinds });
    expect(found.map(({ check: name, effect }) => [name, effect])).toEqual(Array(times).fill(['document', 'warn']));
    expect(passChecks(found, false)).toMatchObject({ ok: true });
  });

  it('given a quarantine, blocks with what would clear it; where a club only warns, asks for a reason', () => {
    expect(passChecks(check({ inQuarantine: true }), true)).toMatchObject({
      refusal: { rule: 'TRANSFER_CHECK_BLOCKS', blockers: [{ kind: 'animal', id: 'a' }] },
    });
    const warned = check({ inQuarantine: true }, [], { ...DEFAULT_POLICY, quarantine: 'warn' });
    expect(passChecks(warned, false)).toMatchObject({ refusal: { rule: 'TRANSFER_REASON_NEEDED' } });
    expect(passChecks(warned, true)).toMatchObject({ ok: true, value: [{ check: 'quarantine' }] });
  });

  it('given a minimum, the youngest it can be and its last weight count; what is unknown does not', () => {
    const minimum = { days: 60, grams: 10, source: 'test' };
    expect(check({ minimum })).toEqual([]);
    expect(check({ minimum, bornAt: { latest: day('2026-04-11') }, lastGrams: 10 })).toEqual([]);
    const young = check({ minimum, bornAt: { latest: day('2026-04-12') }, lastGrams: 9.5 });
    expect(young.map(({ check: name, effect }) => [name, effect])).toEqual([
      ['minimum', 'warn'],
      ['minimum', 'warn'],
    ]);
    expect(young[0]?.fact).toContain('59 days');
    expect(young[0]?.fact).toContain('(test)');
  });

  it('given a condition, blocks until it is settled, or its quarantine or document is no longer in the way', () => {
    const open = passChecks(check({}, [condition({})]), false);
    expect(open).toMatchObject({ refusal: { rule: 'TRANSFER_CONDITION_OPEN', blockers: [{ id: 'c' }] } });
    for (const settledAs of ['met', 'waived'] as const) expect(check({}, [condition({ settledAs })])).toEqual([]);
    const paper = condition({ kind: 'document', documentKind: 'veterinary', text: null });
    expect(check({ documentKinds: ['invoice'] }, [paper])).toHaveLength(1);
    expect(check({ documentKinds: ['veterinary'] }, [paper])).toEqual([]);
    const after = condition({ kind: 'after_quarantine', text: null });
    expect(check({}, [after])).toEqual([]);
    expect(check({ inQuarantine: true }, [after]).map(({ check: name }) => name)).toEqual(['quarantine', 'condition']);
  });

  it.each([
    [{ loan: 'borrowed' }, 'loan'],
    [{ loan: 'lent' }, 'loan'],
    [{ reported: 'missing' }, 'report'],
    [{ reported: 'stolen' }, 'report'],
    [{ disputed: true }, 'title'],
  ] as const)('given %j, blocks whatever a club says', (facts, name) => {
    const lenient = { document: 'warn', quarantine: 'warn', minimum: 'warn' } as const;
    const found = check(facts, [], lenient);
    expect(found.map((one) => [one.check, one.effect, one.subjectId])).toEqual([[name, 'block', 'a']]);
    expect(passChecks(found, true)).toMatchObject({ refusal: { rule: 'TRANSFER_CHECK_BLOCKS' } });
  });

  it('given a return, what is borrowed goes back; what is disputed stays', () => {
    const returned = (facts: Partial<SendFacts>) =>
      checkSending({ ...GIFT, kind: 'loan_return' }, [{ ...WELL, ...facts }], DEFAULT_POLICY, ON);
    expect(returned({ loan: 'borrowed' })).toEqual([]);
    expect(returned({ loan: 'borrowed', disputed: true }).map((one) => one.check)).toEqual(['title']);
  });

  it('given a report of theft, says whose statement it is and accuses nobody', () => {
    const [found] = check({ reported: 'stolen' });
    expect(found?.fact).toContain('An owner has stated');
  });
});
