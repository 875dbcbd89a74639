import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { checkStatement, type Cover, documentSight, type DocumentStatement } from './document.core.js';
import { parseJurisdiction } from './jurisdiction.core.js';

const statement: DocumentStatement = {
  kind: 'licence',
  permitForm: null,
  number: '1',
  authority: 'An authority',
  jurisdiction: 'DE',
  validFrom: null,
  validUntil: null,
  covers: [{ what: 'collection' }],
};
const ruleOf = (changes: Partial<DocumentStatement>) => {
  const decision = checkStatement({ ...statement, ...changes });
  return decision.ok ? 'ok' : decision.refusal.rule;
};
const taxon = (taxonId: string): Cover => ({ what: 'taxon', taxonId, quantity: 3 });

describe('checkStatement', () => {
  it('takes a validity of one day and refuses a reversed one', () => {
    expect(ruleOf({ validFrom: day('2026-01-02'), validUntil: day('2026-01-02') })).toBe('ok');
    expect(ruleOf({ validFrom: day('2026-01-02'), validUntil: day('2026-01-01') })).toBe('VALIDITY_REVERSED');
  });

  it('takes each cover once, and the whole collection alone', () => {
    expect(ruleOf({ covers: [taxon('a'), taxon('b'), { what: 'animal', animalId: 'c' }] })).toBe('ok');
    expect(ruleOf({ covers: [taxon('a'), taxon('a')] })).toBe('COVER_TWICE');
    expect(ruleOf({ covers: [taxon('a'), { what: 'collection' }] })).toBe('COLLECTION_ALONE');
  });

  it('knows permit forms of permits and certificates only', () => {
    expect(ruleOf({ permitForm: 'import_permit', kind: 'permit' })).toBe('ok');
    expect(ruleOf({ permitForm: 'import_permit', kind: 'invoice' })).toBe('PERMIT_FORM_MISPLACED');
  });
});

describe('documentSight', () => {
  const covered = (relation: 'holder' | 'owner' | 'receiver', closed: boolean) =>
    documentSight({ actsForKeeper: false, toCoveredAnimals: [{ relation, closed }] });

  it('shows own documents, and those of an animal one has or owns now', () => {
    expect(documentSight({ actsForKeeper: true, toCoveredAnimals: [] })).toBe('own');
    expect(covered('holder', false)).toBe('with_animal');
    expect(covered('owner', false)).toBe('with_animal');
  });

  it('shows nothing to anybody else', () => {
    expect(documentSight({ actsForKeeper: false, toCoveredAnimals: [] })).toBe('none');
    expect(covered('receiver', false)).toBe('none');
    expect(covered('holder', true)).toBe('none');
    expect(covered('owner', true)).toBe('none');
  });
});

describe('parseJurisdiction', () => {
  it.each([
    ['DE', 'DE'],
    [' de-by ', 'DE-BY'],
    ['FR-2A', 'FR-2A'],
    ['GB-ENG', 'GB-ENG'],
    ['EU', 'EU'],
    ['XA-NO', 'XA-NO'],
    ['ZZ', null],
    ['XX', null],
    ['DEU', null],
    ['DE-', null],
    ['DE-BAYERN', null],
    ['Germany', null],
    ['', null],
  ])('%j is %j', (text, code) => {
    expect(parseJurisdiction(text)).toBe(code);
  });
});
