import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { type RecordPack } from '../../libs/exchange/index.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { decide } from '../../libs/kernel/index.js';
import { canonicalJson } from '../../libs/platform/canonical.js';
import { insertTaxon } from '../../libs/taxon/index.js';
import { makeEggRecord } from '../support/egg-record.js';
import { type Archive, PackClient, sha256 } from '../support/pack-client.js';
import { pdfText } from '../support/pdf-text.js';
import { statementsOf } from '../support/query-count.js';
import { RebuildRecord } from '../support/rebuild-record.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { CANARY, makeRichRecord, PRICE, PROFILE, type RichRecord } from '../support/rich-record.js';
import { type JsonSchema, propertiesOf, propertiesSaid } from '../support/schema-coverage.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/** Milliseconds: a rich record is some hundred requests, one after the other. */
const PATIENCE = 400_000;

let home: TestApp;
let away: TestApp | undefined;
let world: RegistryWorld;
let farWorld: RegistryWorld | undefined;
let client: PackClient;
let rich: RichRecord;
let schema: JsonSchema;
let theirs: Archive;
/** Of a transfer of eggs alone, and of a record that was merged. */
let withEggs: Archive[];
const zip = () => `/transfers/${rich.transferId}/record.zip`;

beforeAll(async () => {
  home = await startTestApp();
  world = new RegistryWorld(home);
  client = new PackClient(home);
  const eggs = await makeEggRecord(client, world, `${CANARY} stove`);
  withEggs = [
    await client.archive(eggs.receiver, `/transfers/${eggs.transferId}/record.zip`),
    await client.archive(eggs.receiver, `/animals/${eggs.merged}/record.zip`),
  ];
  rich = await makeRichRecord(client, world);
  schema = JSON.parse((await home.http().get('/schemas/record-pack-1.json')).text) as JsonSchema;
  theirs = await client.archive(rich.receiver, zip());
}, PATIENCE);
afterAll(async () => {
  await farWorld?.close();
  await away?.close();
  await world?.close();
  await home?.close();
});

/** Everything that can be read in an archive: the text of the paper, and the bytes of every other member. */
async function textsOf({ members }: Archive): Promise<string> {
  const texts = Object.entries(members).map(async ([path, bytes]) =>
    path === 'record.pdf' ? pdfText(bytes) : `${path} ${Buffer.from(bytes).toString('latin1')}`,
  );
  return (await Promise.all(texts)).join('\n');
}

describe('the form of a record pack', () => {
  it('is published without an account, as it is committed', async () => {
    const file = join(import.meta.dirname, '..', '..', 'docs', 'schemas', 'record-pack-1.json');
    expect(`${JSON.stringify(schema, null, 2)}\n`).toBe(readFileSync(file, 'utf8'));
  });

  it('is draft 2020-12, and what the registry writes is valid under it: the check is of the library ajv', async () => {
    const validate = new Ajv2020({ validateFormats: false }).compile(schema as object);
    const mine = await client.archive(rich.giver, zip());
    for (const { pack } of [theirs, mine])
      expect({ valid: validate(pack), errors: validate.errors }).toMatchObject({ valid: true });
    const [first, ...others] = theirs.pack.animals;
    expect(validate({ ...theirs.pack, animals: [{ ...first, sex: 'female' }, ...others] })).toBe(false);
  });

  it(
    'has no field that the rich record leaves unsaid',
    async () => {
      const mine = await client.archive(rich.giver, zip());
      const said = new Set([theirs, mine, ...withEggs].flatMap(({ pack }) => propertiesSaid(schema, pack)));
      const known = propertiesOf(schema);
      expect(known.length).toBeGreaterThan(150);
      expect(known.filter((path) => !said.has(path))).toEqual([]);
    },
    PATIENCE,
  );
});

describe('an archive', () => {
  it('has the pack as canonical JSON (RFC 8785), its form, a paper, every file it names, and the hash of each', () => {
    const { members, pack } = theirs;
    const manifest = JSON.parse(Buffer.from(members['manifest.json'] ?? []).toString()) as {
      members: { path: string; sha256: string; size: number }[];
    };
    const found = Object.entries(members).filter(([path]) => path !== 'manifest.json');
    expect(manifest.members.toSorted((a, b) => (a.path < b.path ? -1 : 1))).toEqual(
      found
        .map(([path, bytes]) => ({ path, sha256: sha256(bytes), size: bytes.length }))
        .toSorted((a, b) => (a.path < b.path ? -1 : 1)),
    );
    expect(Buffer.from(members['pack.json'] ?? []).toString()).toBe(canonicalJson(pack));
    expect(JSON.parse(Buffer.from(members['schema.json'] ?? []).toString())).toEqual(schema);
    const named = pack.animals.flatMap(({ pictures, documents }) => [
      ...pictures,
      ...documents.flatMap(({ files }) => files),
    ]);
    expect(named.map(({ path }) => path).toSorted()).toEqual(
      Object.keys(members)
        .filter((path) => path.startsWith('files/'))
        .toSorted(),
    );
    for (const { path, sha256: hash } of named) expect(sha256(members[path] ?? new Uint8Array())).toBe(hash);
  });

  it('is the same to the last byte when it is asked for again', async () => {
    expect((await client.archive(rich.receiver, zip())).bytes.equals(theirs.bytes)).toBe(true);
  });

  it('has a paper that tells a person what the pack tells a program', async () => {
    const text = await pdfText(theirs.members['record.pdf'] ?? new Uint8Array());
    const numbers = theirs.pack.animals.map((animal) => animal.registerNumber);
    for (const part of [
      ...numbers,
      'This paper is not a proof of origin nor a permit',
      'sex: female, method probing, confidence likely',
      'no longer in force since 2023-06-01 (Looked at too young.)',
      '19 February 2023',
      'T-71',
      'lost',
      'Report 17 of the test.',
      '(90 %)',
      'egg 2: candled, clear',
      'started anew 26 June 2023',
      'E-2024-0815',
      'Reader’s own house',
      'health note: Left eye was swollen.',
      'origin: bred in captivity, as claimed',
      'raised out: -1',
    ])
      expect(text).toContain(part);
  });

  it('tells nothing of other people, what was paid and written, private notes, places, or animals that are not shared', async () => {
    const text = await textsOf(theirs);
    expect(text).toContain('Reader’s own house'.slice(0, 6));
    const rows = await world.db.animal.findMany({
      where: { id: { in: [...rich.hidden] } },
      select: { registerNumber: true },
    });
    const numbers = rows.flatMap(({ registerNumber: n }) => [n, `${n.slice(0, 3)}-${n.slice(3, 6)}-${n.slice(6)}`]);
    expect(numbers).toHaveLength(10);
    const secrets = [CANARY, String(PRICE), 'example.org', ...numbers, ...rich.hidden];
    expect(secrets.filter((secret) => text.includes(secret))).toEqual([]);
    // The giver reads its own name, and nobody else's.
    const own = (await textsOf(await client.archive(rich.giver, zip()))).replaceAll(`${CANARY} giver`, '');
    expect([CANARY, String(PRICE), 'example.org', 'Reader'].filter((secret) => own.includes(secret))).toEqual([]);
  });
});

describe('who takes a record along', () => {
  const status = async (by: TestKeeper, path: string) => {
    const answer = await client.get(by, path);
    return [answer.status, (answer.body as Buffer).toString().replace(/"requestId":"[^"]*"/, '')];
  };

  it('nobody but those who read it; what is not theirs and what is not there are told apart by nothing', async () => {
    const nowhere = '00000000-0000-7000-8000-000000000000';
    for (const kind of ['animals', 'transfers']) {
      const hidden = await status(
        rich.stranger,
        `/${kind}/${kind === 'animals' ? rich.main : rich.transferId}/record.zip`,
      );
      expect(hidden[0]).toBe(404);
      expect(await status(rich.stranger, `/${kind}/${nowhere}/record.zip`)).toEqual(hidden);
      expect((await home.http().get(`/${kind}/${nowhere}/record.zip`)).status).toBe(401);
    }
    // Lineage that is shared in the club is no record.
    const dam = theirs.pack.relatives.find((each) => each.line === 'River line')?.registerNumber?.replaceAll('-', '');
    const { id } = await world.db.animal.findFirstOrThrow({ where: { registerNumber: dam ?? '' } });
    expect((await status(rich.receiver, `/animals/${id}/record.zip`))[0]).toBe(404);
  });

  it('the first keeper reads the time until it went on: neither the second keeper’s time nor the third’s', async () => {
    const { pack } = await client.archive(rich.breeder, `/animals/${rich.main}/record.zip`);
    const [animal] = pack.animals;
    expect(animal?.readsUntil).toMatch(/^2024-03-01T/);
    expect(animal?.matings).toEqual([]);
    expect(animal?.clutches.map(({ as }) => as)).toEqual(['young']);
    expect(animal?.clutches[0]?.breeders).toMatchObject([{ breeder: 'keeper', own: true }]);
    expect(animal?.documents).toEqual([]);
    expect(animal?.pictures).toHaveLength(2);
    expect(animal?.quarantines).toHaveLength(1);
    expect(animal?.custody.at(-1)).toMatchObject({ own: false, from: '2024-03-01', to: null });
    expect(animal?.custody.at(-2)).toMatchObject({ own: true, name: `${CANARY} breeder`, leftBy: 'given' });
    expect(JSON.stringify(animal)).not.toMatch(/"recordedAt":"(2024-0[4-9]|2024-1|2025)/);
  });

  it('the giver’s pack stands still, whatever the receiver records, corrects, ends or hands on later', async () => {
    const before = (await client.archive(rich.giver, zip())).pack;
    client.setDay('2025-03-01');
    const { main: animalId, receiver } = rich;
    await client.do(receiver, 'recordFact', { animalId, weightGrams: 99.5, when: '2025-02-20' });
    await client.do(receiver, 'recordFact', {
      ...{ animalId, name: 'Renamed', when: '2025-02-20', reason: 'A better name.' },
    });
    const tag = await world.db.animalMark.findFirstOrThrow({ where: { animalId, value: 'T-71' } });
    await client.do(receiver, 'endMark', { markId: tag.seriesId, cause: 'removed', until: '2025-02-20' });
    await client.do(receiver, 'recordParent', { animalId, role: 'dam', reason: 'Nobody saw it.' });
    await client.do(receiver, 'loseFromLot', { lotId: rich.lot, cause: 'died', count: 1 });
    await client.put(
      receiver,
      `/animals/${animalId}/files`,
      theirs.members['record.pdf'] ?? new Uint8Array(),
      'application/pdf',
    );
    client.setDay('2025-06-01');
    await client.handOver(receiver, rich.stranger, [[animalId, 1]], '2025-06-01');
    const after = (await client.archive(rich.giver, zip())).pack;
    expect(after).toEqual(before);
    // The receiver's own grew: the comparison above could have failed.
    const grown = JSON.stringify((await client.archive(rich.receiver, zip())).pack);
    for (const part of ['99.5', 'Renamed', 'Nobody saw it.', '"removed"']) expect(grown).toContain(part);
    expect(JSON.stringify(before)).not.toContain('99.5');
  });

  it('the receiver of an offer reads the record without the giver’s documents and quarantine, and what claims rest on', async () => {
    client.setDay('2025-06-02');
    const { giver, receiver } = rich;
    const taxonId = await world.taxon();
    const sireId = await world.animal(giver, taxonId, { sex: 'male', birth: { edtf: '2020', manner: 'hatched' } });
    const animalId = await world.animal(giver, taxonId, { birth: { edtf: '2025', manner: 'hatched' } });
    const { keeperId } = giver;
    await client.do(giver, 'recordParent', { animalId, role: 'sire', parentId: sireId, evidence: 'Seen.' });
    await client.do(giver, 'openQuarantine', { keeperId, animalIds: [animalId], enteredOn: '2025-06-02', days: 30 });
    await client.do(giver, 'recordDocument', {
      ...{
        keeperId,
        kind: 'other',
        number: '7',
        authority: 'An authority',
        jurisdiction: 'DE',
        covers: [{ animalId }],
      },
    });
    const offer = { fromKeeperId: keeperId, toKeeperId: receiver.keeperId, kind: 'gift', items: [{ animalId }] };
    const { transfer } = await client.do(giver, 'offerTransfer', offer);
    const seen = async (by: TestKeeper) => {
      const [animal] = (await client.archive(by, `/transfers/${transfer.id}/record.zip`)).pack.animals;
      return [animal?.quarantines.length, animal?.documents.length, animal?.parents.map(({ evidence }) => evidence)];
    };
    expect(await seen(giver)).toEqual([1, 1, ['Seen.']]);
    expect(await seen(receiver)).toEqual([0, 0, [null]]);
  });

  it('a buyer without an account does once it has taken the record up with its code', async () => {
    client.setDay('2025-06-02');
    const taxonId = await world.taxon();
    const animalId = await world.animal(rich.giver, taxonId);
    const { transfer, claimCode } = await client.do(rich.giver, 'offerTransfer', {
      ...{ fromKeeperId: rich.giver.keeperId, kind: 'gift', items: [{ animalId }] },
      toOutsideParty: { name: `${CANARY} buyer` },
    });
    const transferId = transfer.id;
    await client.do(rich.giver, 'acceptTransfer', { transferId });
    await client.do(rich.giver, 'sendTransfer', { transferId, sentOn: '2025-06-02' });
    const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    await client.do(rich.giver, 'receiveTransfer', { transferId, receivedOn: '2025-06-02', items });
    const buyer = await world.keeper('Now with an account');
    expect((await status(buyer, `/transfers/${transferId}/record.zip`))[0]).toBe(404);
    await client.do(buyer, 'takeUpTransfer', { claimCode, keeperId: buyer.keeperId });
    const { pack } = await client.archive(buyer, `/transfers/${transferId}/record.zip`);
    expect(pack.animals[0]?.custody.at(-1)).toMatchObject({ own: true, name: 'Now with an account' });
    expect(pack.animals[0]?.custody.at(-2)).toMatchObject({ holder: 'keeper', own: false, name: null });
  });
});

describe('bounds', () => {
  it('as many statements for twenty animals as for two, and files beyond what an archive holds are refused', async () => {
    client.setDay('2025-07-01');
    const keeper = await world.keeper('Long house');
    const next = await world.keeper('Next');
    const taxonId = await world.taxon();
    const offer = async (count: number) => {
      const items = [];
      for (let i = 0; i < count; i += 1)
        items.push({
          animalId: await world.animal(keeper, taxonId, { marks: [{ kind: 'tag', value: `${count}-${i}` }] }),
        });
      const input = { fromKeeperId: keeper.keeperId, toKeeperId: next.keeperId, kind: 'gift', items };
      return { id: (await client.do(keeper, 'offerTransfer', input)).transfer.id, items };
    };
    const [few, many] = [await offer(2), await offer(20)];
    const count = async (id: string) =>
      (await statementsOf(() => client.archive(keeper, `/transfers/${id}/record.zip`))).length;
    const of20 = await count(many.id);
    expect(of20).toBeGreaterThan(10);
    expect(of20).toBeLessThanOrEqual(45);
    expect(await count(few.id)).toBe(of20);

    const covers = many.items.slice(0, 1);
    const { document } = await client.do(keeper, 'recordDocument', {
      ...{
        keeperId: keeper.keeperId,
        kind: 'other',
        number: '1',
        authority: 'An authority',
        jurisdiction: 'DE',
        covers,
      },
    });
    const bytes = Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');
    await client.put(keeper, `/documents/${document.id}/files`, bytes, 'application/pdf');
    const path = `/animals/${covers[0]?.animalId}/record.zip`;
    expect((await client.get(keeper, path)).status).toBe(200);
    await world.db.documentFile.updateMany({ where: { documentId: document.id }, data: { size: 300 * 1024 * 1024 } });
    const refused = await client.get(keeper, path);
    expect((refused.body as Buffer).toString()).toMatch(/RECORD_TOO_LARGE.*/);
    expect((refused.body as Buffer).toString()).toContain('300 MB');
  });
});

describe('a record made anew from its archive in an empty registry', () => {
  /** What two registries say differently of one record, and nothing else. */
  const LEFT_OUT = {
    registerNumber: 'each registry gives its own numbers',
    recordedAt: 'when it was written down in this registry',
    at: 'when it was superseded in this registry',
    custody: 'before the arrival it is the own older book: one keeper had it all the time',
    ownership: 'the same',
    breeders: 'follows from the ownership of the dam',
    sha256: 'a picture is encoded anew',
    size: 'the same',
    path: 'the same',
  };

  /** A pack under the refs of the first, with the lists whose order hangs on ids in one order. */
  function comparable(pack: RecordPack, called: ReadonlyMap<string, string>): unknown {
    const sorted = new Set(['relatives', 'animals', 'candidates', 'dams', 'pictures', 'matings', 'clutches']);
    const walk = (value: unknown, key: string): unknown => {
      if (Array.isArray(value)) {
        if (key === 'pictures' && typeof value[0] === 'string') return value.length;
        const list = (value as unknown[]).map((each) => walk(each, ''));
        return sorted.has(key) ? list.toSorted((a, b) => (canonicalJson(a) < canonicalJson(b) ? -1 : 1)) : list;
      }
      if (typeof value === 'string' && ['ref', 'lot', 'dam', 'sire'].includes(key)) return called.get(value) ?? value;
      if (typeof value !== 'object' || value === null) return value;
      const kept = Object.entries(value).filter(([name]) => !(name in LEFT_OUT) || isDocumentFile(value, name));
      return Object.fromEntries(kept.map(([name, each]) => [name, walk(each, name)]));
    };
    return walk(pack, '');
  }

  /** The bytes of a document are the same in both; only pictures are encoded anew. */
  const isDocumentFile = (value: object, name: string): boolean =>
    'mediaType' in value && ['sha256', 'size', 'path'].includes(name);

  it(
    'says the same, but for a short list',
    async () => {
      // Passport keeps one strategy a process: the second registry starts when the first is asked nothing more.
      away = await startTestApp();
      farWorld = new RegistryWorld(away);
      const far = new PackClient(away);
      expect(await farWorld.db.animal.count()).toBe(0);
      far.setDay('2026-06-12');
      const newcomer = await farWorld.keeper('Newcomer');
      const next = await farWorld.keeper('Next');
      const { taxon } = theirs.pack.animals[0] ?? {};
      if (taxon === undefined) throw new Error('No taxon.');
      const uow = new UnitOfWork(farWorld.db, new Clock());
      const days = { quarantineDays: 60, quarantineSource: 'test' };
      const { id: taxonId } = await uow.writeAsServer(null, async (tx) =>
        decide(await insertTaxon(tx, { ...taxon, ...days }, [])),
      );
      await farWorld.db.taxon.update({ where: { id: taxonId }, data: { profile: PROFILE } });

      const ids = await new RebuildRecord(far, farWorld, newcomer, theirs, taxonId).execute();

      const items = theirs.pack.animals.map(({ ref }) => ({ animalId: ids.get(ref) }));
      const offer = { fromKeeperId: newcomer.keeperId, toKeeperId: next.keeperId, kind: 'gift', items };
      const { transfer } = await far.do(newcomer, 'offerTransfer', offer);
      const { pack } = await far.archive(newcomer, `/transfers/${transfer.id}/record.zip`);
      const rows = await farWorld.db.animal.findMany({ select: { id: true, registerNumber: true } });
      const numbers = new Map(rows.map((row) => [row.id, row.registerNumber]));
      const refs = new Map(
        [...pack.animals, ...pack.relatives].map((each) => [each.registerNumber?.replaceAll('-', '') ?? '', each.ref]),
      );
      const called = new Map([...ids].map(([ref, id]) => [refs.get(numbers.get(id) ?? '') ?? '', ref]));
      expect(comparable(pack, called)).toEqual(comparable(theirs.pack, new Map()));
      expect(pack.animals.every((animal) => animal.custody.length > 0)).toBe(true);
    },
    PATIENCE,
  );
});
