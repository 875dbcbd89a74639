import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { noPaperPage, paperPage } from './paper-page.core.js';
import { type PaperAnimal } from './record-paper.core.js';

const paper: PaperAnimal = {
  animalId: 'a',
  registerNumber: 'HJ4-K7P-QR9',
  kind: 'individual',
  scientificName: 'Testudo hermanni',
  commonName: "Hermann's <tortoise>",
  sex: 'unknown',
  sexMethod: 'secret method',
  sexConfidence: null,
  birthManner: 'hatched',
  birthEdtf: '2026-05~',
  sires: [],
  dams: ['WX3-47N-MPT'],
  originClass: 'bred',
  originClaimedBy: 'giver',
  marks: [{ kind: 'transponder', value: '276098100000001' }],
  lastWeight: { grams: 18.5, on: '2026-08-30' },
  count: 1,
  countEstimated: false,
};
const now = { ...paper, fate: 'alive' };

describe('the public page of a paper', () => {
  const html = paperPage(day('2026-09-01'), [{ paper, now }]);

  it('shows number, species, sex, year and origin as claimed', () => {
    for (const text of ['HJ4-K7P-QR9', 'Testudo hermanni', 'unknown', '>2026<', 'as claimed by the keeper who gave']) {
      expect(html).toContain(text);
    }
    expect(html).toContain('unchanged');
    expect(html).toContain('No death, loss or theft is recorded.');
  });

  it('shows no exact birth, parents, marks or weights, and says what it leaves out', () => {
    for (const text of ['2026-05', 'May', 'WX3-47N-MPT', '276098100000001', '18.5', 'secret method']) {
      expect(html).not.toContain(text);
    }
    expect(html).toContain('What this page does not show');
    expect(html).toContain('not a proof of origin');
  });

  it('names the fields that changed since, not what they changed to', () => {
    const changed = paperPage(day('2026-09-01'), [{ paper, now: { ...now, sex: 'male', fate: 'stolen' } }]);
    expect(changed).toContain('changed since: sex');
    expect(changed).toContain('Recorded as stolen.');
    expect(changed).not.toMatch(/\bmale\b/);
  });

  it('is no page for search engines, runs no script, and writes what it is given as text', () => {
    expect(html).toContain('noindex');
    expect(html).not.toContain('<script');
    expect(html).toContain('Hermann&#39;s &lt;tortoise&gt;');
    expect(noPaperPage()).toContain('noindex');
  });
});
