import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day } from '../../kernel/index.js';
import {
  decideCorrection,
  decideRestoration,
  excludes,
  type FactVersion,
  fateBefore,
  type FateVersion,
  RECORDED_ANEW,
} from './correction.core.js';
import { type FactBody, inForce, project, SEXES, type When } from './fact.core.js';
import { recordAsOf } from './record-as-of.core.js';

/** A small history that does with the decisions what the store does. */
class History {
  facts: FactVersion[] = [];
  private minutes = 0;

  now(): Date {
    return new Date(Date.UTC(2026, 5, 1, 0, this.minutes));
  }

  private write(
    fact: FactBody,
    when: When | null,
    supersedes: readonly string[],
    reason: string,
    restoresId: string | null,
  ): string {
    this.minutes += 1;
    const id = String(this.minutes);
    const at = this.now();
    this.facts = this.facts.map((each) =>
      supersedes.includes(each.id) ? { ...each, supersededAt: at, supersededBy: id, reason } : each,
    );
    const rest = {
      when,
      recordedAt: at,
      supersededAt: null,
      keeperId: 'k',
      supersededBy: null,
      reason: null,
      restoresId,
    };
    this.facts.push({ ...({ kind: fact.kind, body: fact.body } as FactBody), id, ...rest });
    return id;
  }

  record(fact: FactBody, when: When | null = null): string {
    const rivals = inForce(this.facts, null).filter((each) => excludes(each, fact));
    return this.write(
      fact,
      when,
      rivals.map(({ id }) => id),
      RECORDED_ANEW,
      null,
    );
  }

  get(id: string): FactVersion {
    const fact = this.facts.find((each) => each.id === id);
    if (fact === undefined) throw new Error(`No fact ${id}.`);
    return fact;
  }

  correctFate(id: string): string {
    return this.write(this.get(id), null, [id], 'a slip', null);
  }

  takeFateBack(id: string): string {
    const fate = this.get(id);
    const before = fate.kind === 'fate' ? fateBefore(this.facts, fate) : null;
    if (before === null) throw new Error('Nothing was said before.');
    return this.write(before, before.when, [id], 'a slip', before.id);
  }

  supersede(id: string, body: FactBody): string {
    const decision = decideCorrection(this.facts, this.get(id));
    if (!decision.ok) throw new Error(decision.refusal.rule);
    return this.write(body, decision.value.when, [id], 'Wrong.', null);
  }

  withdraw(id: string): void {
    const decision = decideCorrection(this.facts, this.get(id));
    if (!decision.ok) throw new Error(decision.refusal.rule);
    this.minutes += 1;
    const at = this.now();
    this.facts = this.facts.map((each) =>
      each.id === id ? { ...each, supersededAt: at, reason: 'Never was.' } : each,
    );
  }

  restore(id: string): string {
    const decision = decideRestoration(this.facts, this.get(id));
    if (!decision.ok) throw new Error(decision.refusal.rule);
    const { fact, supersedes } = decision.value;
    return this.write(fact, fact.when, supersedes, 'It was right.', id);
  }
}

const exact = (text: string): When => ({ edtf: text, earliest: day(text), latest: day(text) });
const said = fc.oneof(
  fc.constantFrom(...SEXES).map((sex): FactBody => ({ kind: 'sex', body: { sex } })),
  fc.constantFrom('Pip', 'Moss', 'Fern').map((name): FactBody => ({ kind: 'name', body: { name } })),
  fc.integer({ min: 1, max: 900 }).map((grams): FactBody => ({ kind: 'weight', body: { grams } })),
  fc.constant<FactBody>({ kind: 'birth', body: { manner: 'hatched' } }),
  fc.constant<FactBody>({ kind: 'seen', body: {} }),
);
const when = fc.integer({ min: 0, max: 200 }).map((days) => exact(addDays(day('2025-06-01'), days)));
const recorded = fc.record({ fact: said, when });

describe('restoring', () => {
  it('gives the earlier projection back, after any history, whether a fact was corrected, corrected twice or taken back', () => {
    fc.assert(
      fc.property(
        fc.array(recorded, { maxLength: 8 }),
        recorded,
        fc.constantFrom('supersede', 'supersede twice', 'withdraw', 'restore what was withdrawn, correct again'),
        (earlier, last, how) => {
          const history = new History();
          for (const each of earlier) history.record(each.fact, each.when);
          const id = history.record(last.fact, last.when);
          const before = project(history.facts);
          const { kind } = last.fact;
          const other = (
            {
              sex: { sex: 'unknown' },
              name: { name: 'Wrong' },
              weight: { grams: 9999 },
              birth: { manner: 'unknown' },
              seen: {},
            } as const
          )[kind as 'sex'];
          const wrong = { kind, body: other } as FactBody;
          if (how === 'withdraw') history.withdraw(id);
          else if (how === 'supersede') history.supersede(id, wrong);
          else if (how === 'supersede twice') history.supersede(history.supersede(id, wrong), wrong);
          else {
            history.withdraw(id);
            history.supersede(history.restore(id), wrong);
          }
          const meanwhile = history.now();
          const then = project(history.facts, meanwhile);
          history.restore(id);
          expect(project(history.facts)).toEqual(before);
          // What was believed meanwhile is still known.
          expect(project(history.facts, meanwhile)).toEqual(then);
          expect(() => history.restore(id)).toThrow('FACT_IN_FORCE');
        },
      ),
    );
  });
});

describe('decideCorrection', () => {
  it('names the fact that took the place of one no longer in force', () => {
    const history = new History();
    const first = history.record({ kind: 'weight', body: { grams: 425 } });
    const second = history.supersede(first, { kind: 'weight', body: { grams: 42.5 } });
    expect(decideCorrection(history.facts, history.get(first))).toMatchObject({
      ok: false,
      refusal: { rule: 'FACT_NOT_IN_FORCE', blockers: [{ id: second }] },
    });
    history.withdraw(second);
    expect(decideCorrection(history.facts, history.get(second))).toMatchObject({
      ok: false,
      refusal: { blockers: [{ id: second, remedy: expect.stringContaining('restoreFact') }] },
    });
  });

  it('leaves fates to their own corrections', () => {
    const history = new History();
    const id = history.record({ kind: 'fate', body: { fate: 'dead' } });
    expect(decideCorrection(history.facts, history.get(id))).toMatchObject({
      refusal: { rule: 'FACT_CORRECTED_ELSEWHERE' },
    });
    expect(decideRestoration(history.facts, history.get(id))).toMatchObject({
      refusal: { rule: 'FACT_CORRECTED_ELSEWHERE' },
    });
  });
});

describe('recordAsOf', () => {
  const fate = (fateNow: 'missing' | 'alive'): FactBody => ({ kind: 'fate', body: { fate: fateNow } });

  it('tells both times apart: what was so on a day, and what was known of it at a moment', () => {
    const history = new History();
    history.record({ kind: 'name', body: { name: 'Pip' } }, exact('2026-01-01'));
    history.record(fate('missing'), exact('2026-03-01'));
    const before = history.now();
    history.record(fate('alive'), exact('2026-03-10'));
    history.record({ kind: 'name', body: { name: 'Moss' } }, exact('2026-04-01'));
    const on = (at: Date | null, text: string) => recordAsOf(history.facts, at, day(text));
    expect(on(null, '2026-02-01')).toMatchObject({ name: 'Pip', fate: 'alive', fateWhen: null });
    expect(on(null, '2026-03-05')).toMatchObject({ name: 'Pip', fate: 'missing' });
    expect(on(null, '2026-03-10')).toMatchObject({ fate: 'alive', name: 'Pip' });
    expect(on(null, '2026-04-02')).toMatchObject({ fate: 'alive', name: 'Moss' });
    expect(on(before, '2026-04-02')).toMatchObject({ fate: 'missing', name: 'Pip' });
  });

  it('leaves out what was wrong, and what surely came later; what possibly came never decides a fate', () => {
    const history = new History();
    const typo = history.record({ kind: 'weight', body: { grams: 425 } }, exact('2026-02-01'));
    history.supersede(typo, { kind: 'weight', body: { grams: 42.5 } });
    history.record({ kind: 'weight', body: { grams: 50 } }, exact('2026-06-01'));
    history.record(fate('missing'), { edtf: '2026-03', earliest: day('2026-03-01'), latest: day('2026-03-31') });
    const then = recordAsOf(history.facts, null, day('2026-03-15'));
    expect(then.events.map((fact) => fact.body)).toEqual([{ grams: 42.5 }]);
    expect(then).toMatchObject({ fate: 'alive', fatePossibly: 'missing', lastSeenOn: '2026-02-01' });
  });
});

describe('what holds again when a fate is taken back', () => {
  const fate = (name: FateVersion['body']['fate']) => ({ kind: 'fate' as const, body: { fate: name } });
  const before = (history: History, id: string): string | null => {
    const version = history.get(id);
    return version.kind === 'fate' ? (fateBefore(history.facts, version)?.id ?? null) : null;
  };

  it('is what was said before, through its corrected versions, and nothing before the first', () => {
    const history = new History();
    const missing = history.record(fate('missing'));
    const again = history.correctFate(missing);
    const stolen = history.record(fate('stolen'));
    const corrected = history.correctFate(stolen);
    expect(before(history, corrected)).toBe(again);
    expect(before(history, again)).toBeNull();
  });

  it('is what stood before its first place where it was brought back itself', () => {
    const history = new History();
    const missing = history.record(fate('missing'));
    const stolen = history.record(fate('stolen'));
    const back = history.takeFateBack(stolen);
    expect(history.get(back)).toMatchObject({ body: { fate: 'missing' }, restoresId: missing });
    expect(before(history, back)).toBeNull();
    expect(before(history, history.correctFate(back))).toBeNull();
  });
});
