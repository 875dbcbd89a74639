import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { exportDocument } from '../../libs/exchange/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const READ = `query ($id: ID, $number: String) { animal(id: $id, registerNumber: $number) {
  id registerNumber viewerLevel holder { label } mergedInto { id registerNumber } mergedRecords { id }
  sire { id } dam { id } parentage { role candidates { probability animal { id } } } } }`;
const MERGE = `mutation ($input: MergeRecordsInput!) { mergeRecords(input: $input) {
  animal { id } merged { id mergedInto { id } } warnings { code } } }`;
const UNDO = `mutation ($input: UndoMergeInput!) { undoMerge(input: $input) { animal { id } restored { id mergedInto { id } } } }`;

type Shown = {
  id: string;
  registerNumber: string;
  viewerLevel: string;
  holder: { label: string } | null;
  mergedInto: { id: string; registerNumber: string } | null;
  mergedRecords: { id: string }[] | null;
  sire: { id: string } | null;
  dam: { id: string } | null;
  parentage: { role: string; candidates: { probability: number; animal: { id: string } | null }[] }[];
};
type Merged = {
  mergeRecords: { animal: { id: string }; merged: { mergedInto: { id: string } }; warnings: { code: string }[] };
};

describe('two records of one animal', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let taxon: string;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Alder House');
    taxon = await world.taxon();
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const read = async (id: string, who = keeper): Promise<Shown> =>
    (await test.get<{ animal: Shown }>(READ, { id }, who.token)).animal;
  const merge = (keepId: string, mergeId: string, who = keeper) =>
    test.ask<Merged>(MERGE, { input: { keepId, mergeId, reason: 'one transponder' } }, who.token);
  const undo = (mergedId: string, who = keeper) =>
    test.ask<{ undoMerge: { animal: { id: string }; restored: { id: string } | null } }>(
      UNDO,
      { input: { mergedId, reason: 'two animals after all' } },
      who.token,
    );
  const rule = async (answer: ReturnType<typeof merge>) => (await answer).errors?.[0]?.extensions.rule;
  const post = async (operation: string, type: string, input: object, who = keeper) =>
    (await test.ask(`mutation ($input: ${type}!) { ${operation}(input: $input) { __typename } }`, { input }, who.token))
      .errors?.[0]?.extensions.rule;
  const book = async (who = keeper) =>
    (
      await test.get<{ stockBook: { opening: number; arrived: number; departed: number; closing: number } }>(
        `query ($k: ID!) { stockBook(keeperId: $k, from: "2020-01-01", asOf: "2200-01-01") {
           opening arrived departed closing unaccounted departures { edges { node { cause animalId } } } } }`,
        { k: who.keeperId },
        who.token,
      )
    ).stockBook;

  it('merges: the record leads to the one kept, takes nothing more, and leaves the book and the collection', async () => {
    const owner = await world.keeper('Beech House');
    const [kept, merged] = [await world.animal(owner, taxon), await world.animal(owner, taxon, { sex: 'male' })];
    const number = (await read(merged, owner)).registerNumber;
    const done = (await merge(kept, merged, owner)).data?.mergeRecords;
    expect(done?.merged.mergedInto.id).toBe(kept);
    expect(done?.warnings.map(({ code }) => code)).toEqual(['MERGE_SEX_OPEN', 'MERGE_BIRTH_OPEN']);

    const byNumber = await test.get<{ animal: Shown }>(READ, { number }, owner.token);
    expect(byNumber.animal).toMatchObject({ id: merged, viewerLevel: 'full', mergedInto: { id: kept }, holder: null });
    expect((await read(kept, owner)).mergedRecords).toEqual([{ id: merged }]);

    const young = await world.animal(owner, taxon);
    for (const [operation, type, input] of [
      ['recordFact', 'RecordFactInput', { animalId: merged, weightGrams: 10 }],
      ['recordParent', 'RecordParentInput', { animalId: merged, role: 'dam', parentId: young }],
      ['recordParent', 'RecordParentInput', { animalId: young, role: 'sire', parentId: merged }],
      ['declareFounder', 'DeclareFounderInput', { animalId: merged, founder: true, reason: 'a test' }],
      ['recordDeath', 'RecordDeathInput', { animalId: merged }],
    ] as const)
      expect([operation, await post(operation, type, input, owner)]).toEqual([operation, 'RECORD_MERGED']);
    expect(await rule(merge(young, merged, owner))).toBe('RECORD_MERGED');
    expect(await rule(merge(merged, young, owner))).toBe('RECORD_MERGED');

    expect(await book(owner)).toEqual({
      opening: 0,
      arrived: 3,
      departed: 1,
      closing: 2,
      unaccounted: 0,
      departures: { edges: [{ node: { cause: 'merged', animalId: merged } }] },
    });
    const { myCollection } = await test.get<{ myCollection: { edges: { node: { id: string } }[] } }>(
      `query ($k: ID!) { myCollection(keeperId: $k) { edges { node { id } } } }`,
      { k: owner.keeperId },
      owner.token,
    );
    expect(myCollection.edges.map(({ node }) => node.id)).toEqual([kept, young]);

    expect((await undo(merged, owner)).data?.undoMerge.restored).toMatchObject({ id: merged, mergedInto: null });
    expect(await book(owner)).toMatchObject({ arrived: 3, departed: 0, closing: 3, unaccounted: 0 });
    expect(await post('recordFact', 'RecordFactInput', { animalId: merged, weightGrams: 10 }, owner)).toBeUndefined();
    expect((await undo(merged, owner)).errors?.[0]?.extensions.rule).toBe('NOT_MERGED');
  });

  describe('where the animal is', () => {
    const enclosure = async (name: string, who = keeper) => {
      const { data } = await test.ask<{ recordEnclosure: { enclosure: { id: string } } }>(
        `mutation ($input: RecordEnclosureInput!) { recordEnclosure(input: $input) { enclosure { id } } }`,
        { input: { keeperId: who.keeperId, name } },
        who.token,
      );
      return data?.recordEnclosure.enclosure.id ?? '';
    };
    const place = (enclosureId: string, animalId: string, from = '2026-02-01') =>
      post('placeAnimals', 'PlaceAnimalsInput', { enclosureId, animalIds: [animalId], from });
    /** Stays in force of an animal: where, and whether it is there still. */
    const stays = async (animalId: string) =>
      (
        await world.db.placement.findMany({
          where: { animalId, supersededAt: null },
          orderBy: [{ validFrom: 'asc' }, { id: 'asc' }],
        })
      ).map(({ enclosureId, validTo }) => [enclosureId, validTo?.toISOString().slice(0, 10) ?? 'there']);
    const pair = async () => [
      await world.animal(keeper, taxon, { since: '2026-01-01' }),
      await world.animal(keeper, taxon, { since: '2026-01-01' }),
    ];
    beforeAll(() => test.setDay('2026-06-10'));
    afterAll(() => test.setDay(null));

    it('goes on in the kept record, and with the undoing both are where they were', async () => {
      const [kept = '', merged = ''] = await pair();
      const house = await enclosure('North house');
      expect(await place(house, merged)).toBeUndefined();
      expect(await rule(merge(kept, merged))).toBeUndefined();
      expect(await stays(merged)).toEqual([[house, '2026-06-10']]);
      expect(await stays(kept)).toEqual([[house, 'there']]);
      await undo(merged);
      expect(await stays(merged)).toEqual([[house, 'there']]);
      expect(await stays(kept)).toEqual([]);
    });

    it('of two in one enclosure one stay ends; the own stay of the kept one is left alone by merge and undoing', async () => {
      const [kept = '', merged = ''] = await pair();
      const house = await enclosure('South house');
      test.setDay('2026-06-09');
      await place(house, kept, '2026-06-09');
      test.setDay('2026-06-10');
      await place(house, merged);
      expect(await rule(merge(kept, merged))).toBeUndefined();
      expect([await stays(merged), await stays(kept)]).toEqual([[[house, '2026-06-10']], [[house, 'there']]]);
      await undo(merged);
      expect([await stays(merged), await stays(kept)]).toEqual([[[house, 'there']], [[house, 'there']]]);
    });

    it('where the kept one went on since, it stays there when the merge is undone', async () => {
      const [kept = '', merged = ''] = await pair();
      const [house, yard] = [await enclosure('East house'), await enclosure('Yard')];
      await place(house, merged);
      await merge(kept, merged);
      test.setDay('2026-06-12');
      expect(await place(yard, kept, '2026-06-12')).toBeUndefined();
      await undo(merged);
      test.setDay('2026-06-10');
      expect(await stays(kept)).toEqual([
        [house, '2026-06-12'],
        [yard, 'there'],
      ]);
      expect(await stays(merged)).toEqual([[house, 'there']]);
    });

    it('a stay nobody ended with a keeper of before is no second place', async () => {
      const before = await world.keeper('Before');
      const [kept = '', merged = ''] = [
        await world.animal(before, taxon, { since: '2026-01-01' }),
        await world.animal(keeper, taxon, { since: '2026-01-01' }),
      ];
      const theirs = await enclosure('Their house', before);
      expect(
        await post(
          'placeAnimals',
          'PlaceAnimalsInput',
          { enclosureId: theirs, animalIds: [kept], from: '2026-02-01' },
          before,
        ),
      ).toBeUndefined();
      const offer = {
        fromKeeperId: before.keeperId,
        toKeeperId: keeper.keeperId,
        kind: 'gift',
        items: [{ animalId: kept }],
      };
      const { data } = await test.ask<{ offerTransfer: { transfer: { id: string } } }>(
        `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`,
        { input: offer },
        before.token,
      );
      const transferId = data?.offerTransfer.transfer.id;
      const items = [{ animalId: kept, arrivals: [{ state: 'well', count: 1 }] }];
      await post('acceptTransfer', 'AcceptTransferInput', { transferId });
      await post('sendTransfer', 'SendTransferInput', { transferId, sentOn: '2026-05-01' }, before);
      await post('receiveTransfer', 'ReceiveTransferInput', { transferId, receivedOn: '2026-05-01', items });
      const house = await enclosure('West house');
      await place(house, merged);
      expect(await rule(merge(kept, merged))).toBeUndefined();
      expect(await stays(kept)).toEqual([
        [theirs, '2026-05-01'],
        [house, 'there'],
      ]);
    });
  });

  it('young of the merged record count as young of the kept one, and its parents where the kept one has none', async () => {
    const [grandsire, granddam] = [await world.animal(keeper, taxon), await world.animal(keeper, taxon)];
    const kept = await world.animal(keeper, taxon, { sireId: grandsire });
    const merged = await world.animal(keeper, taxon, { sireId: grandsire, damId: granddam });
    const young = await world.animal(keeper, taxon, { damId: merged });
    const perhaps = await world.animal(keeper, taxon, {
      damCandidates: [
        { parentId: kept, probability: 0.5 },
        { parentId: merged, probability: 0.5 },
      ],
    });
    await merge(kept, merged);
    expect((await read(young)).dam).toEqual({ id: kept });
    expect(await read(kept)).toMatchObject({ sire: { id: grandsire }, dam: { id: granddam } });
    expect((await read(perhaps)).parentage).toEqual([
      { role: 'dam', candidates: [{ probability: 1, animal: { id: kept } }] },
    ]);
    // A cycle is one also where it leads through the other record: young → kept = merged → granddam.
    const ring = await test.ask(
      `mutation ($input: RecordParentInput!) { recordParent(input: $input) { animal { id } } }`,
      { input: { animalId: granddam, role: 'sire', parentId: young } },
      keeper.token,
    );
    expect(ring.errors?.[0]?.extensions).toMatchObject({
      rule: 'LINEAGE_CYCLE',
      blockers: [{ id: young }, { id: kept }, { id: granddam }],
    });
    await undo(merged);
    expect((await read(young)).dam).toEqual({ id: merged });
    expect((await read(kept)).dam).toBeNull();
  });

  it('refuses what cannot be one animal, or would be in two states at once', async () => {
    const of = (more: object) => world.animal(keeper, taxon, more);
    const male = await of({ sex: 'male', birth: { edtf: '2020', manner: 'hatched' } });
    expect(await rule(merge(male, male))).toBe('MERGE_SAME_RECORD');
    expect(await rule(merge(male, await of({ sex: 'female' })))).toBe('MERGE_SEX_CONFLICT');
    expect(await rule(merge(male, await of({ birth: { edtf: '2021', manner: 'hatched' } })))).toBe(
      'MERGE_BIRTH_CONFLICT',
    );
    expect(await rule(merge(male, await world.lot(keeper, taxon, 3)))).toBe('MERGE_LOT');
    expect(await rule(merge(male, await world.animal(keeper, await world.taxon())))).toBe('MERGE_OTHER_TAXON');
    const son = await of({ sireId: male });
    const grandson = await of({ sireId: son });
    expect(await rule(merge(male, grandson))).toBe('MERGE_ANCESTOR');
    expect(await rule(merge(grandson, male))).toBe('MERGE_ANCESTOR');
    const [sire, dam] = [await of({}), await of({})];
    const young = await of({ sireId: sire, damId: dam });
    const refused = (await merge(sire, dam)).errors?.[0]?.extensions;
    expect(refused).toMatchObject({ rule: 'MERGE_TWO_PARENTS', blockers: [{ id: young }] });
    expect(await rule(merge(await of({ sireId: sire }), await of({ sireId: male })))).toBe('MERGE_PARENTS_CONFLICT');
    const [a, b, c] = [await of({}), await of({}), await of({})];
    await merge(a, b);
    expect(await rule(merge(c, a))).toBe('MERGE_CHAIN');
    expect(await rule(merge(a, c))).toBeUndefined();
    expect((await read(a)).mergedRecords?.length).toBe(2);
  });

  it('an animal in an open transfer is not merged; one of another keeper is forbidden or not there', async () => {
    const other = await world.keeper('Cherry House');
    const [mine, offered] = [await world.animal(keeper, taxon), await world.animal(keeper, taxon)];
    await test.get(
      `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`,
      {
        input: {
          fromKeeperId: keeper.keeperId,
          toKeeperId: other.keeperId,
          kind: 'gift',
          items: [{ animalId: offered }],
        },
      },
      keeper.token,
    );
    expect(await rule(merge(mine, offered))).toBe('TRANSFER_OPEN');
    const theirs = await world.animal(other, taxon);
    expect((await merge(mine, theirs)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    await world.club(keeper, other);
    const seen = await merge(mine, theirs);
    expect(seen.errors?.[0]).toMatchObject({
      message: 'Both records must be with keepers you act for. Let the other one be handed over to you first.',
      extensions: { code: 'FORBIDDEN' },
    });
  });

  it('is undone by whoever has the kept record, not by a stranger, with both in the ledger', async () => {
    const [kept, merged] = [await world.animal(keeper, taxon), await world.animal(keeper, taxon)];
    await merge(kept, merged);
    const stranger = await world.keeper('Damson House');
    expect((await undo(merged, stranger)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    await world.club(keeper, stranger);
    expect((await undo(merged, stranger)).errors?.[0]?.extensions.code).toBe('FORBIDDEN');
    expect((await read(merged, stranger)).mergedInto?.id).toBe(kept);
    await undo(merged);
    const entries = await world.db.ledgerEntry.findMany({
      where: { action: { in: ['animal.records-merged', 'animal.merge-undone'] }, subjects: { has: merged } },
      orderBy: { id: 'asc' },
    });
    expect(entries.map(({ action }) => action)).toEqual(['animal.records-merged', 'animal.merge-undone']);
    for (const { body } of entries) expect(body).not.toMatch(/transponder|after all/);
    const row = await world.db.recordMerge.findFirst({ where: { mergedId: merged } });
    expect(row).toMatchObject({ keepId: kept, because: 'one transponder', reason: 'two animals after all' });
    expect(row?.supersededBy).toBe(keeper.accountId);
  });

  it('stands in the export of both records, with founders and candidates', async () => {
    const owner = await world.keeper('Elder House');
    const kept = await world.animal(owner, taxon, { founder: true });
    const other = await world.animal(owner, taxon, { founder: true });
    const merged = await world.animal(owner, taxon);
    await world.animal(owner, taxon, {
      sireCandidates: [
        { parentId: kept, probability: 0.75 },
        { parentId: other, probability: 0.25 },
      ],
    });
    await merge(kept, merged, owner);
    await undo(merged, owner);
    await merge(kept, merged, owner);
    const { exportMyData } = await test.get<{ exportMyData: { json: string } }>(
      `query ($k: ID!) { exportMyData(keeperId: $k) { json } }`,
      { k: owner.keeperId },
      owner.token,
    );
    const { animals } = exportDocument.parse(JSON.parse(exportMyData.json));
    expect(animals.map(({ declaredFounder }) => declaredFounder)).toEqual([true, true, false, false]);
    const [first, , third, young] = animals;
    expect(first?.merges.map(({ as, other: who, undoneBecause }) => [as, who, undoneBecause])).toEqual([
      ['kept', third?.registerNumber, 'two animals after all'],
      ['kept', third?.registerNumber, null],
    ]);
    expect(third?.merges.map(({ as, because }) => [as, because])).toEqual([
      ['merged', 'one transponder'],
      ['merged', 'one transponder'],
    ]);
    expect(young?.parentage[0]?.candidates.map(({ probability }) => probability).toSorted()).toEqual([0.25, 0.75]);
  });
});
