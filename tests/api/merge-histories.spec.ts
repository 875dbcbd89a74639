import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { v7 as uuid } from 'uuid';
import { MergeRecords, registerAllStock, UndoMerge } from '../../libs/custody/index.js';
import { day, decide, DomainError, type Viewer } from '../../libs/kernel/index.js';
import { type ClaimInput, LivePedigree } from '../../libs/lineage/index.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { type Family, inbreedingByDefinition, type Share } from '../support/average-kinship.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const SIZE = 24;

/** Places of an animal's possible parents among the animals before it. */
type Drawn = { readonly sire: readonly number[]; readonly dam: readonly number[] };
type Step = { readonly undo: boolean; readonly a: number; readonly b: number };

const drawn: fc.Arbitrary<Drawn[]> = fc.tuple(
  ...Array.from({ length: SIZE }, (_, i) => {
    const parents = fc.uniqueArray(fc.nat(Math.max(0, i - 1)), { maxLength: i < 8 ? 0 : 2 });
    return fc.record({ sire: parents, dam: parents });
  }),
);
const steps: fc.Arbitrary<Step[]> = fc.array(
  fc.record({
    undo: fc.boolean(),
    // Founders are merged more often: nothing of their parents stands against it.
    a: fc.oneof(fc.nat(SIZE - 1), fc.nat(9)),
    b: fc.oneof(fc.nat(SIZE - 1), fc.nat(9)),
  }),
  { minLength: 12, maxLength: 20 },
);

/** A pedigree with some records merged, as the rules of merging say: young of both, parents of the kept one first. */
function families(records: readonly Family[], mergedInto: ReadonlyMap<string, string>): Family[] {
  const keptId = (id: string): string => mergedInto.get(id) ?? id;
  const gather = (own: Family, role: 'sire' | 'dam'): Share[] => {
    const others = records.filter(({ id }) => mergedInto.get(id) === own.id);
    const shares = [own, ...others].map((each) => each[role]).find((list) => list.length > 0) ?? [];
    const sums = new Map<string, number>();
    for (const { parentId, probability } of shares)
      sums.set(keptId(parentId), (sums.get(keptId(parentId)) ?? 0) + probability);
    return [...sums].map(([parentId, probability]) => ({ parentId, probability }));
  };
  return records
    .filter(({ id }) => !mergedInto.has(id))
    .map((own) => ({ id: own.id, sire: gather(own, 'sire'), dam: gather(own, 'dam') }));
}

describe('histories of merging and undoing', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let viewer: Viewer;
  const get = <T>(type: new (...args: never[]) => T): T => test.app.get(type, { strict: false });
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Alder House');
    const { accountId, keeperId } = keeper;
    viewer = { accountId, keepers: [{ keeperId, role: 'owner' }], clubIds: [], offices: [], requestId: uuid() };
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const share = (records: readonly string[], places: readonly number[]): Share[] =>
    places.map((place) => ({ parentId: records[place] ?? '', probability: 1 / places.length }));

  async function register(taxonId: string, pedigree: readonly Drawn[]): Promise<Family[]> {
    const ids = pedigree.map(() => uuid());
    const records = pedigree.map(({ sire, dam }, i) => ({
      id: ids[i] ?? '',
      sire: share(ids, sire),
      dam: share(ids, dam),
    }));
    const claimOf = (role: 'sire' | 'dam', candidates: readonly Share[]): ClaimInput[] =>
      candidates.length === 0 ? [] : [{ role, basis: 'declared', candidates }];
    const from = day('2026-01-01');
    const { keeperId } = keeper;
    await get(UnitOfWork).writeAsServer(null, async (tx) => {
      await registerAllStock(
        tx,
        taxonId,
        records.map(({ id, sire, dam }) => ({
          id,
          animal: {
            kind: 'individual',
            taxonId,
            lineId: null,
            count: 1,
            countEstimated: false,
            keeperId,
            on: from,
            facts: [],
            marks: [],
          },
          parents: [...claimOf('sire', sire), ...claimOf('dam', dam)],
          holder: { kind: 'keeper', keeperId },
          from,
          arrivedBy: 'registered',
          ended: null,
          owners: [{ owner: { kind: 'keeper', keeperId }, parts: 1 }],
        })),
      );
      return decide(null);
    });
    return records;
  }

  async function numbers(taxonId: string): Promise<Map<string, number>> {
    const snapshot = await get(LivePedigree).of(taxonId);
    const f = new Map<string, number>();
    for (let i = 0; i < snapshot.ids.length; i++) {
      const id = snapshot.ids.at(i);
      if (id !== undefined) f.set(id, snapshot.inbreeding[i] ?? NaN);
    }
    return f;
  }

  /** Tries one step; gives whether it was taken. Only refusals with a rule are let pass. */
  async function take(act: Promise<unknown>): Promise<boolean> {
    try {
      await act;
      return true;
    } catch (error) {
      if (error instanceof DomainError && error.code === 'RULE_REFUSED') return false;
      throw error;
    }
  }

  it('keep F of all equal to the definition at every step, and undone wholly give it back bit for bit', async () => {
    let merges = 0;
    let undone = 0;
    await fc.assert(
      fc.asyncProperty(drawn, steps, async (pedigree, history) => {
        const taxonId = await world.taxon();
        const records = await register(taxonId, pedigree);
        const first = await numbers(taxonId);
        const mergedInto = new Map<string, string>();
        const check = async (): Promise<void> => {
          const expected = inbreedingByDefinition(families(records, mergedInto));
          const found = await numbers(taxonId);
          expect([...found.keys()].toSorted()).toEqual([...expected.keys()].toSorted());
          for (const [id, f] of expected) expect(found.get(id)).toBeCloseTo(f, 12);
        };
        await check();
        const undo = async (mergedId: string): Promise<void> => {
          await get(UndoMerge).execute(viewer, { mergedId, reason: 'Two animals.' });
          mergedInto.delete(mergedId);
          undone += 1;
          await check();
        };
        for (const step of history) {
          const [mergedId] = [...mergedInto.keys()].slice(step.a % Math.max(1, mergedInto.size));
          if (step.undo && mergedId !== undefined) {
            await undo(mergedId);
            continue;
          }
          const [keepId = '', mergeId = ''] = [records[step.a]?.id, records[step.b]?.id];
          const done = await take(get(MergeRecords).execute(viewer, { keepId, mergeId, reason: 'One animal.' }));
          if (!done) continue;
          mergedInto.set(mergeId, keepId);
          merges += 1;
          await check();
        }
        for (const mergedId of [...mergedInto.keys()]) await undo(mergedId);
        const last = await numbers(taxonId);
        for (const [id, f] of first) expect(Object.is(last.get(id), f)).toBe(true);
      }),
      { numRuns: 8, endOnFailure: true },
    );
    // Rules stand against many of the merges drawn; enough of them went through for this to say something.
    expect(merges).toBeGreaterThan(15);
    expect(undone).toBe(merges);
  });
});
