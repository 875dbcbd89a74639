import { describe, expect, it } from '@jest/globals';
import { FATES } from './fact.core.js';
import { decideFate, FATE_CHANGES, FATE_TRANSITIONS, fateAfter, FINAL_FATES } from './fate-transitions.core.js';

describe('fates', () => {
  it('every fate is reached from a living animal, and every one but death leads back', () => {
    const reached = new Set(['alive']);
    for (let grown = 0; grown !== reached.size;) {
      grown = reached.size;
      for (const from of FATES.filter((fate) => reached.has(fate)))
        for (const to of FATE_TRANSITIONS[from]) reached.add(to);
    }
    expect([...reached].sort()).toEqual([...FATES].sort());
    for (const fate of FATES.filter((each) => each !== 'alive' && !FINAL_FATES.includes(each)))
      expect({ fate, ways: FATE_TRANSITIONS[fate] }).toEqual({ fate, ways: expect.arrayContaining(['alive', 'dead']) });
  });

  it('final are those without a way on, and no fate follows on itself', () => {
    expect(FATES.filter((fate) => FATE_TRANSITIONS[fate].length === 0)).toEqual(FINAL_FATES);
    for (const fate of FATES) expect(FATE_TRANSITIONS[fate]).not.toContain(fate);
  });

  it('every change but a death can be said by somebody', () => {
    for (const to of FATES.filter((fate) => fate !== 'dead')) expect(FATE_CHANGES.map(fateAfter)).toContain(to);
  });

  it('only an owner reports a theft or takes it back; a holder may still report the death', () => {
    expect(decideFate('alive', 'stolen', false)).toMatchObject({ refusal: { rule: 'THEFT_BY_OWNER_ONLY' } });
    expect(decideFate('stolen', 'found', false)).toMatchObject({ refusal: { rule: 'THEFT_BY_OWNER_ONLY' } });
    expect(decideFate('alive', 'stolen', true)).toEqual({ ok: true, value: 'stolen' });
    expect(decideFate('stolen', 'found', true)).toEqual({ ok: true, value: 'alive' });
    expect(FATE_TRANSITIONS.stolen).toContain('dead');
  });

  it('says what is in the way', () => {
    expect(decideFate('missing', 'missing', true)).toMatchObject({ refusal: { rule: 'FATE_ALREADY' } });
    expect(decideFate('dead', 'found', true)).toMatchObject({ refusal: { rule: 'FATE_IMPOSSIBLE' } });
    expect(decideFate('seized', 'escaped', true)).toMatchObject({ refusal: { rule: 'FATE_IMPOSSIBLE' } });
  });
});
