import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { packHash, type RecordPack } from '../../libs/exchange/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const CANARY = 'CANARY';

describe('the record pack of a transfer', () => {
  let home: TestApp;
  let away: TestApp;
  let world: RegistryWorld;
  let farWorld: RegistryWorld;
  let giver: TestKeeper;
  let receiver: TestKeeper;
  let stranger: TestKeeper;
  let newcomer: TestKeeper;
  let animalId: string;
  let transferId: string;
  let pack: RecordPack;

  const change = (test: TestApp, by: TestKeeper, name: string, input: object) => {
    const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input`;
    const field = name.startsWith('record') ? 'animal' : 'transfer';
    return test.get<Record<string, Record<string, { id: string }>>>(
      `mutation ($input: ${type}!) { ${name}(input: $input) { ${field} { id } } }`,
      { input },
      by.token,
    );
  };
  const fetch = async (test: TestApp, by: TestKeeper, id: string) =>
    test.http().get(`/transfers/${id}/record.json`).set('authorization', `Bearer ${by.token}`);
  const put = (pack: unknown, by: TestKeeper) =>
    away
      .http()
      .put(`/record-packs?keeperId=${by.keeperId}`)
      .set('authorization', `Bearer ${by.token}`)
      .set('content-type', 'application/octet-stream')
      .send(Buffer.from(typeof pack === 'string' ? pack : JSON.stringify(pack)));
  const offer = async (test: TestApp, from: TestKeeper, to: TestKeeper, id: string, more: object = {}) => {
    const made = await change(test, from, 'offerTransfer', {
      fromKeeperId: from.keeperId,
      toKeeperId: to.keeperId,
      kind: 'gift',
      items: [{ animalId: id }],
      ...more,
    });
    return made.offerTransfer?.transfer?.id ?? '';
  };

  beforeAll(async () => {
    home = await startTestApp();
    world = new RegistryWorld(home);
    giver = await world.keeper(`${CANARY} no, the giver`);
    receiver = await world.keeper(`${CANARY} receiver`);
    stranger = await world.keeper(`${CANARY} stranger`);
    home.setDay('2026-01-01');
    const taxonId = await world.taxon();
    const grand = { sex: 'male', birth: { edtf: '2018', manner: 'hatched' }, originClass: 'wild' };
    const grandsire = await world.animal(giver, taxonId, { ...grand, name: 'Old one' });
    const dam = await world.animal(giver, taxonId, {
      sex: 'female',
      birth: { edtf: '2020', manner: 'hatched' },
      sireId: grandsire,
      originClass: 'bred',
    });
    const sires = [
      await world.animal(giver, taxonId, {
        sex: 'male',
        birth: { edtf: '2021', manner: 'hatched' },
        sireId: grandsire,
      }),
      await world.animal(giver, taxonId, { sex: 'male', birth: { edtf: '2020-05', manner: 'hatched' } }),
    ];
    home.setDay('2026-06-10');
    animalId = await world.animal(giver, taxonId, {
      birth: { edtf: '2026-05~', manner: 'hatched' },
      damId: dam,
      sireCandidates: sires.map((parentId, i) => ({ parentId, probability: i === 0 ? 0.75 : 0.25 })),
      marks: [{ kind: 'tag', value: 'T-17' }],
    });
    const facts: object[] = [
      { weightGrams: 21.5, when: '2026-06-08' },
      { sex: { sex: 'female', method: 'probing', confidence: 'likely' }, when: '2026-06-09' },
      { acquisition: { manner: 'bred_here', country: 'FR', statedBy: `${CANARY} said so` } },
      { origin: { originClass: 'bred', statedBy: `${CANARY} said so` } },
      { note: { topic: 'care', text: 'Eats dandelion.' } },
      { note: { topic: 'health', text: 'Eye was swollen.' } },
      { note: { topic: 'private', text: `${CANARY} of the giver` } },
    ];
    for (const fact of facts) await change(home, giver, 'recordFact', { animalId, ...fact });
    transferId = await offer(home, giver, receiver, animalId, {
      kind: 'sale',
      message: `${CANARY} message`,
      price: { minor: 424242, currency: 'EUR' },
    });
  });

  afterAll(async () => {
    await world.close();
    await farWorld?.close();
    await home.close();
    await away?.close();
  });

  it('is the same for both sides while offered, and for nobody else', async () => {
    const [mine, theirs, others] = [
      await fetch(home, giver, transferId),
      await fetch(home, receiver, transferId),
      await fetch(home, stranger, transferId),
    ];
    expect([mine.status, theirs.status]).toEqual([200, 200]);
    expect((mine.body as RecordPack).animals[0]?.facts).toEqual((theirs.body as RecordPack).animals[0]?.facts);
    expect(others.text).toContain('NOT_FOUND');
    const absent = await fetch(home, stranger, '00000000-0000-7000-8000-000000000000');
    const plain = (text: string) => text.replace(/"requestId":"[^"]*"/, '');
    expect(plain(others.text)).toBe(plain(absent.text));
  });

  it('stays as it was for the giver after the hand-over, and rebuilds the animal in an empty registry', async () => {
    await change(home, receiver, 'acceptTransfer', { transferId });
    await change(home, giver, 'sendTransfer', { transferId, sentOn: '2026-06-10' });
    await change(home, receiver, 'receiveTransfer', {
      transferId,
      receivedOn: '2026-06-10',
      items: [{ animalId, arrivals: [{ state: 'well', count: 1 }] }],
    });
    const frozen = (await fetch(home, giver, transferId)).text;
    home.setDay('2026-06-12');
    await change(home, receiver, 'recordFact', { animalId, weightGrams: 99.5, when: '2026-06-10' });
    expect((await fetch(home, giver, transferId)).text).toBe(frozen);

    pack = (await fetch(home, receiver, transferId)).body as RecordPack;
    expect(JSON.stringify(pack)).toContain('99.5');
    expect(JSON.stringify({ ...pack, handedOverBy: '' })).not.toMatch(/CANARY|424242|@example/);
    expect(pack.ancestors).toHaveLength(4);

    // Passport keeps one strategy a process: the second server starts when the first is asked nothing more.
    away = await startTestApp();
    farWorld = new RegistryWorld(away);
    newcomer = await farWorld.keeper('Newcomer');
    away.setDay('2026-06-12');
    const made = await put(pack, newcomer);
    expect([made.status, made.text]).toEqual([201, expect.stringContaining('registerNumber')]);
    expect((await put(pack, newcomer)).text).toContain('PEDIGREE_ALREADY_REGISTERED');
    const next = await farWorld.keeper('Next');
    const newId = (made.body as { animals: { animalId: string }[] }).animals[0]?.animalId ?? '';
    const rebuilt = (await fetch(away, newcomer, await offer(away, newcomer, next, newId))).body as RecordPack;
    expect(comparable(rebuilt)).toEqual(comparable(pack));
  });

  it('refuses what was changed or cannot be, names the field and writes nothing', async () => {
    const signed = (each: RecordPack) => ({ ...each, contentHash: packHash(each) });
    const before = await farWorld.db.animal.count();
    const [animal] = pack.animals;
    const looped = signed({
      ...pack,
      ancestors: pack.ancestors.map((each) => ({
        ...each,
        parents: [
          {
            role: 'sire' as const,
            basis: 'declared' as const,
            withoutSire: false,
            when: null,
            candidates: [{ ref: each.ref, probability: 1 }],
          },
        ],
      })),
    });
    const cases: [unknown, string][] = [
      [{ ...pack, handedOverBy: 'Somebody else' }, 'contentHash'],
      [{ ...pack, version: 2 }, 'version'],
      [looped, 'ancestors.0.parents'],
      [{ ...pack, animals: [{ ...animal, facts: undefined }] }, 'animals.0.facts'],
      ['{', 'pack'],
      [' '.repeat(5_000_000), 'pack'],
    ];
    for (const [sent, path] of cases) {
      const { status, text } = await put(sent, newcomer);
      expect({ status, text, path }).toMatchObject({ text: expect.stringContaining(`"path":"${path}"`) });
    }
    expect(await farWorld.db.animal.count()).toBe(before);
  });

  it('publishes its form', async () => {
    const { status, text } = await away.http().get('/record-pack.schema.json');
    expect(status).toBe(200);
    expect(JSON.parse(text)).toMatchObject({ $id: 'urn:kithbook:record-pack:1', type: 'object' });
  });

  /** What has to be the same in the new registry: not numbers, bases of claims, nor what `docs/record-pack.md` says is not taken in. */
  function comparable(pack: RecordPack) {
    const plain = (parents: RecordPack['ancestors'][number]['parents']) =>
      parents.map(({ basis: _, ...claim }) => claim);
    return {
      animals: pack.animals.map(({ ref, kind, taxon, line, count, countEstimated, facts, marks, parents }) => ({
        ...{ ref, kind, taxon, line, count, countEstimated },
        facts: facts.map((fact) => JSON.stringify(fact)).toSorted(),
        marks: marks.filter((mark) => mark.kind !== 'own_number'),
        parents: plain(parents),
      })),
      ancestors: pack.ancestors.map(({ registerNumber: _, parents, ...each }) => ({
        ...each,
        parents: plain(parents),
      })),
      complete: pack.ancestorsComplete,
    };
  }
});
