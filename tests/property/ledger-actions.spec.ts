import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';

const ROOT = join(import.meta.dirname, '../..');

/** Entries that change what the replay rebuilds, and that no history draws yet. */
const NOT_DRAWN = [
  'breeding.egg-event-corrected',
  'breeding.fact-corrected',
  'breeding.hatching-recorded',
  'exchange.pedigree-registered',
  'lineage.parent-recorded',
  'transfer.claim-lapsed',
];

/** Kinds of entries of which none says who has or owns what, a count, a fate, a dam, the state of a transfer, or eggs. */
const OTHER_TOPICS = [
  'account.',
  'breeding-availability.',
  'club.',
  'collection.',
  'custody.',
  'document.',
  'health.',
  'housing.',
  'office.',
  'provenance.',
  'reading.',
  'sharing.',
  'thread.',
];

/** The same of single ones. */
const OTHERS = [
  'animal.fact-corrected',
  'animal.facts-recorded',
  'animal.file-added',
  'animal.file-withdrawn',
  'animal.keeper-told-of-mark',
  'animal.mark-conflict-told',
  'animal.mark-corrected',
  'animal.mark-ended',
  'animal.mark-recorded',
  'animal.photo-comparison-confirmed',
  'animal.photo-session-recorded',
  'animal.photo-session-taken-back',
  'animal.photos-due-noticed',
  'breeding.family-moved',
  'breeding.mating-recorded',
  'breeding.pairing-moved',
  'breeding.pairing-planned',
  'lineage.founder-declared',
  'transfer.arrival-photos-added',
  'transfer.arrival-quarantine-reminded',
  'transfer.claim-told',
  'transfer.condition-settled',
  'transfer.instalments-noticed',
  'transfer.loans-noticed',
  'transfer.other-side-told',
  'transfer.paper-issued',
];

async function sources(folder: string): Promise<string[]> {
  const names = await readdir(join(ROOT, folder), { recursive: true });
  const written = names.filter((name) => name.endsWith('.ts') && !name.endsWith('.spec.ts'));
  return Promise.all(written.map((name) => readFile(join(ROOT, folder, name), 'utf8')));
}

const sorted = (names: Iterable<string>): string[] => [...new Set(names)].toSorted();

describe('every kind of ledger entry', () => {
  it('is replayed, or it is said why not', async () => {
    const texts = [...(await sources('libs')), ...(await sources('apps'))];
    const calls = texts.flatMap((text) => [...text.matchAll(/(?<!function )defineLedgerAction\(\s*('?[^',]*'?)/g)]);
    const actions = calls.map(([, name = '']) => name);
    expect(actions.filter((name) => !/^'[a-z-]+\.[a-z-]+'$/.test(name))).toEqual([]);
    const written = sorted(actions.map((name) => name.slice(1, -1)));
    expect(written.length).toBeGreaterThan(100);
    const replay = await readFile(join(ROOT, 'tests/property/ledger-replay.ts'), 'utf8');
    const known = new Set([...replay.matchAll(/(?:case|action ===) '([a-z-]+\.[a-z-]+)'/g)].map(([, name]) => name));
    const unknown = written.filter(
      (name) => !known.has(name) && !['keeper.', ...OTHER_TOPICS].some((topic) => name.startsWith(topic)),
    );
    expect(unknown).toEqual(sorted([...NOT_DRAWN, ...OTHERS]));
    expect([...known].filter((name) => !written.includes(name ?? ''))).toEqual([]);
  });
});
