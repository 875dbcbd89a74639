import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import { v7 as uuid } from 'uuid';
import { findReferred } from '../../libs/exchange/forget/file-reference.store.js';
import { RemoveFilesHandler } from '../../libs/exchange/index.js';
import { removeFiles } from '../../libs/exchange/forget/remove-files.job.js';
import { decide } from '../../libs/kernel/index.js';
import { BlobStore } from '../../libs/platform/blobs/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const PASSWORD = 'a long enough password';
const FORGET = `mutation ($input: ForgetMeInput!) { forgetMe(input: $input) { accountId keeperIds } }`;
const RELATIONSHIP = `query ($a: ID!, $b: ID!) { relationship(a: $a, b: $b) { kinship knownAncestry words } }`;
const INBREEDING = `query ($id: ID!) { animal(id: $id) { inbreeding { value knownAncestry } } }`;

let test: TestApp;
let world: RegistryWorld;
let taxonId: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxonId = await world.taxon();
  test.setDay('2026-06-10');
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

type Person = TestKeeper & { email: string; refreshToken: string };

async function person(word: string): Promise<Person> {
  const email = `${word.toLowerCase()}-${uuid()}@example.org`;
  const { openAccount } = await test.get<{
    openAccount: { accountId: string; keeperId: string; accessToken: string; refreshToken: string };
  }>(
    `mutation ($input: OpenAccountInput!) { openAccount(input: $input) { accountId keeperId accessToken refreshToken } }`,
    { input: { email, password: PASSWORD, keeperName: `${word}-NAME` } },
    undefined,
    { 'user-agent': `${word}-DEVICE` },
  );
  const { accountId, keeperId, accessToken, refreshToken } = openAccount;
  return { accountId, keeperId, token: accessToken, email, refreshToken };
}
const run = (name: string, input: object, who: TestKeeper, fields = '__typename') =>
  test.ask<Record<string, never>>(
    `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    who.token,
  );
async function done<T = unknown>(name: string, input: object, who: TestKeeper, fields?: string): Promise<T> {
  const answer = await run(name, input, who, fields);
  if (answer.errors !== undefined) throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
  return (answer.data as Record<string, T> | null)?.[name] as T;
}
const forget = (who: TestKeeper, password = PASSWORD, headers = {}) =>
  test.ask<{ forgetMe: { accountId: string; keeperIds: string[] } }>(
    FORGET,
    { input: { password } },
    who.token,
    headers,
  );
const refused = (answer: { errors?: { extensions: { rule?: string; code: string } }[] }) =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code ?? 'done';

async function give(from: TestKeeper, to: TestKeeper, animalIds: string[], terms: object = {}): Promise<string> {
  const items = animalIds.map((animalId) => ({ animalId }));
  const { transfer } = await done<{ transfer: { id: string } }>(
    'offerTransfer',
    { fromKeeperId: from.keeperId, items, kind: 'sale', toKeeperId: to.keeperId, ...terms },
    from,
    'transfer { id }',
  );
  const transferId = transfer.id;
  await done('acceptTransfer', { transferId }, to);
  await done('sendTransfer', { transferId, sentOn: '2026-06-10' }, from);
  const arrived = animalIds.map((animalId) => ({ animalId, arrivals: [{ state: 'well', count: 1 }] }));
  await done('receiveTransfer', { transferId, receivedOn: '2026-06-10', items: arrived }, to);
  return transferId;
}

/** Every row of every table as text, but for the ledger's entries, which are compared on their own. */
async function wholeDatabase(): Promise<string> {
  const tables = await world.db.$queryRaw<{ name: string }[]>`
    SELECT table_name::text AS name FROM information_schema.tables WHERE table_schema = 'public' AND table_type = 'BASE TABLE'`;
  const parts: string[] = [];
  for (const { name } of tables) {
    const rows = await world.db.$queryRawUnsafe<{ text: string }[]>(
      `SELECT to_jsonb(t)::text AS text FROM "${name}" t`,
    );
    parts.push(...rows.map((row) => `${name}: ${row.text}`));
  }
  return parts.join('\n');
}
const linesWith = (text: string, word: string): string[] =>
  text.split('\n').filter((line) => line.toLowerCase().includes(word.toLowerCase()));
const ledger = () =>
  world.db.$queryRaw<{ id: string; body: string; hash: string }[]>`
    SELECT id::text, body, encode(leaf_hash, 'hex') AS hash FROM ledger_entry ORDER BY id`;

/** Writes everywhere a keeper can, each time with the word; gives the animals, all of which have to go before. */
async function writeEverywhere(jane: Person, bert: TestKeeper, word: string) {
  const { keeperId } = jane;
  const animal = (more: object) => world.animal(jane, taxonId, { since: '2026-05-01', ...more });
  const sire = await animal({ sex: 'male', name: 'Old one' });
  const dam = await animal({ sex: 'female', marks: [{ kind: 'transponder', value: '528140000000001' }] });
  const son = await animal({ sex: 'male', sireId: sire, damId: dam });
  const daughter = await animal({ sex: 'female', sireId: sire, damId: dam });
  const young = await animal({ sireId: son, damId: daughter });
  for (const topic of ['care', 'health', 'private'])
    await done('recordFact', { animalId: dam, note: { topic, text: `${word}-NOTE-${topic}` } }, jane);
  await done('recordFact', { animalId: dam, weightGrams: 120, when: '2026-05-03' }, jane);
  await done('recordFact', { animalId: young, name: 'Pip', reason: `${word}-REASON` }, jane);
  const { enclosure } = await done<{ enclosure: { id: string } }>(
    'recordEnclosure',
    { keeperId, name: `${word}-ENCLOSURE`, room: `${word}-ROOM` },
    jane,
    'enclosure { id }',
  );
  await done('placeAnimals', { animalIds: [sire, dam], enclosureId: enclosure.id, from: '2026-05-02' }, jane);
  await done('planPairing', { damId: dam, sireId: sire, from: '2026-05-02', note: `${word}-PLAN` }, jane);
  const papers = { kind: 'licence', authority: `${word}-AUTHORITY`, jurisdiction: 'NL' };
  await done(
    'recordDocument',
    { keeperId, ...papers, number: `${word}-LICENCE`, covers: [{ wholeCollection: true }] },
    jane,
  );
  const { transfer } = await done<{ transfer: { id: string } }>(
    'offerTransfer',
    {
      fromKeeperId: keeperId,
      items: [{ animalId: young }],
      kind: 'gift',
      message: `${word}-OFFER`,
      toOutsideParty: { name: `${word}-OUTSIDE`, contact: `${word}-CONTACT` },
    },
    jane,
    'transfer { id }',
  );
  await done('withdrawTransfer', { transferId: transfer.id }, jane);
  await done('inviteToKeeper', { keeperId, email: `${word.toLowerCase()}-friend@example.org`, role: 'helper' }, jane);
  const berts = await world.animal(bert, taxonId, { sex: 'male' });
  await done('askHolder', { animalId: berts, aboutAnimalId: dam, message: `${word}-QUESTION` }, jane);
  return { sire, dam, son, daughter, young };
}

const photo = (shade: number) =>
  sharp({ create: { width: 40, height: 30, channels: 3, background: { r: shade, g: 90, b: 60 } } })
    .withExif({ IFD0: { Artist: 'Somebody' } })
    .jpeg()
    .toBuffer();
async function send(keeper: TestKeeper, animalId: string, bytes: Buffer, name: string): Promise<void> {
  const { status } = await test
    .http()
    .put(`/animals/${animalId}/files`)
    .query({ name, caption: name })
    .set('content-type', 'image/jpeg')
    .set('authorization', `Bearer ${keeper.token}`)
    .send(bytes);
  expect(status).toBe(201);
}

describe('being forgotten', () => {
  it('takes every word out, and leaves lineage, custody, the ledger and what the other side knows', async () => {
    const word = `WORD${uuid().slice(-8).toUpperCase()}`;
    const [jane, bert] = [await person(word), await world.keeper('Bert')];
    await world.club(jane, bert);
    await done('updateKeeper', { keeperId: jane.keeperId, region: 'NL-FR' }, jane);
    const animals = await writeEverywhere(jane, bert, word);
    const shared = await photo(10);
    await send(jane, animals.dam, shared, `${word}-FILE.jpg`);
    await send(jane, animals.dam, await photo(200), `${word}-OTHER.jpg`);
    const all = Object.values(animals);
    const price = { minor: 98_765_431, currency: 'EUR' };
    const conditions = [{ kind: 'other', text: `${word}-CONDITION` }];

    // While animals are with her it is refused, and so is a wrong password.
    expect(refused(await forget(jane, 'another long password'))).toBe('PASSWORD_WRONG');
    const early = await forget(jane);
    expect(refused(early)).toBe('FORGET_UNSETTLED');
    expect(early.errors?.[0]?.extensions.blockers.map(({ kind, id }) => [kind, id]).sort()).toEqual(
      all.map((id) => ['animal', id]).sort(),
    );

    const { transfer } = await done<{ transfer: { id: string } }>(
      'offerTransfer',
      {
        fromKeeperId: jane.keeperId,
        toKeeperId: bert.keeperId,
        kind: 'sale',
        items: all.map((animalId) => ({ animalId })),
        message: `${word}-MESSAGE`,
        price,
        conditions,
      },
      jane,
      'transfer { id }',
    );
    const offered = await forget(jane);
    expect(offered.errors?.[0]?.extensions.blockers).toContainEqual(
      expect.objectContaining({ kind: 'transfer', id: transfer.id }),
    );
    const transferId = transfer.id;
    await done('acceptTransfer', { transferId }, bert);
    const condition = await world.db.transferCondition.findFirstOrThrow({ where: { transferId } });
    await done('settleTransferCondition', { transferId, conditionId: condition.id, settledAs: 'waived' }, bert);
    await done('sendTransfer', { transferId, sentOn: '2026-06-10' }, jane);
    const items = all.map((animalId) => ({ animalId, arrivals: [{ state: 'well', count: 1 }] }));
    await done('receiveTransfer', { transferId, receivedOn: '2026-06-10', items }, bert);
    await send(bert, animals.dam, shared, 'bert.jpg');

    const numbers = async () => [
      await test.get(INBREEDING, { id: animals.young }, bert.token),
      await test.get(RELATIONSHIP, { a: animals.son, b: animals.daughter }, bert.token),
      await world.db.parentageClaim.findMany({ orderBy: { id: 'asc' }, include: { candidates: true } }),
      await world.db.custody.findMany({ orderBy: { id: 'asc' } }),
      await world.db.ownership.findMany({ orderBy: { id: 'asc' }, include: { shares: true } }),
      await world.db.animalMark.findMany({ orderBy: { id: 'asc' } }),
    ];
    const before = await numbers();
    expect(JSON.stringify(before)).toContain('"value":0.25');
    const entries = await ledger();
    expect(linesWith(await wholeDatabase(), word).length).toBeGreaterThan(30);
    const files = await world.db.animalFile.findMany({ where: { keeperId: jane.keeperId } });
    expect(files).toHaveLength(2);

    const key = { 'idempotency-key': uuid() };
    const { data } = await forget(jane, PASSWORD, key);
    expect(data?.forgetMe).toEqual({ accountId: jane.accountId, keeperIds: [jane.keeperId] });

    expect(linesWith(await wholeDatabase(), word)).toEqual([]);
    expect(linesWith(await wholeDatabase(), '98765431')).toEqual([]);
    expect(await numbers()).toEqual(before);
    const after = await ledger();
    expect(after.slice(0, entries.length)).toEqual(entries);
    expect(after.slice(entries.length).map(({ body }) => JSON.parse(body) as object)).toEqual([
      { accountId: jane.accountId, keeperIds: [jane.keeperId] },
    ]);
    const { myTransfers } = await test.get<{
      myTransfers: { edges: { node: { id: string; from: { label: string } } }[] };
    }>(
      `query ($k: ID!) { myTransfers(keeperId: $k) { edges { node { id from { label } } } } }`,
      { k: bert.keeperId },
      bert.token,
    );
    expect(myTransfers.edges.find(({ node }) => node.id === transferId)?.node.from.label).toBe('Forgotten keeper');
    const { exportMyData } = await test.get<{ exportMyData: { json: string } }>(
      `query ($k: ID!) { exportMyData(keeperId: $k) { json } }`,
      { k: bert.keeperId },
      bert.token,
    );
    expect(exportMyData.json.toLowerCase()).not.toContain(word.toLowerCase());
    expect(exportMyData.json).toContain('Forgotten keeper');

    // Nobody gets in any more.
    expect(refused(await test.ask('{ me { accountId } }', {}, jane.token))).toBe('UNAUTHENTICATED');
    expect(refused(await forget(jane, PASSWORD, key))).toBe('UNAUTHENTICATED');
    const enter = (name: string, input: object) => run(name, input, { ...jane, token: '' }, 'accessToken');
    expect(refused(await enter('signIn', { email: jane.email, password: PASSWORD }))).toBe('UNAUTHENTICATED');
    const address = `forgotten:${jane.accountId}`;
    expect(refused(await enter('signIn', { email: address, password: PASSWORD }))).toBe('UNAUTHENTICATED');
    expect(refused(await enter('renewSession', { refreshToken: jane.refreshToken }))).toBe('UNAUTHENTICATED');
    const keeper = await world.db.keeper.findUniqueOrThrow({ where: { id: jane.keeperId }, include: { clubs: true } });
    expect(keeper).toMatchObject({ name: 'Forgotten keeper', region: null, holdingsShown: 'nobody' });
    expect(keeper.clubs.every(({ leftOn }) => leftOn !== null)).toBe(true);

    // The bytes go later, but not those Bert sent too.
    const message = await world.db.outboxMessage.findFirstOrThrow({ where: { job: removeFiles.name } });
    const payload = removeFiles.payload.parse(message.payload);
    const blobs = test.app.get(BlobStore, { strict: false });
    const uow = new UnitOfWork(world.db, new Clock());
    const referred = await uow.writeAsServer(null, async (tx) => decide(await findReferred(tx, payload.hashes)));
    expect(payload.hashes).toHaveLength(4);
    expect(referred.size).toBe(2);
    const kept = async () => {
      const opened = await Promise.all(payload.hashes.map(async (hash) => [hash, await blobs.open(hash)] as const));
      for (const [, stream] of opened) stream?.destroy();
      return opened.filter(([, stream]) => stream !== null).map(([hash]) => hash);
    };
    const clean = (notKeptSince: string) =>
      uow.writeAsServer(null, async (tx) => {
        await new RemoveFilesHandler(blobs).handle(tx, { ...payload, notKeptSince });
        return decide(null);
      });
    await clean('2020-01-01T00:00:00.000Z');
    expect(await kept()).toHaveLength(4); // kept again since: somebody may be sending the same
    await clean(new Date(Date.now() + 60_000).toISOString());
    expect(new Set(await kept())).toEqual(referred);
  });

  it('leaves a keeper with another owner as it is', async () => {
    const word = `WORD${uuid().slice(-8).toUpperCase()}`;
    const [leaver, partner] = [await person(word), await world.keeper('Partner')];
    await world.db.keeperMember.create({
      data: { keeperId: leaver.keeperId, accountId: partner.accountId, role: 'owner', since: new Date() },
    });
    await world.db.keeper.update({ where: { id: leaver.keeperId }, data: { name: 'The House' } });
    const animalId = await world.animal(leaver, taxonId, {});
    await done('recordFact', { animalId, note: { topic: 'private', text: 'Of the house' } }, leaver);
    const { data } = await forget(leaver);
    expect(data?.forgetMe.keeperIds).toEqual([]);
    expect(linesWith(await wholeDatabase(), word)).toEqual([]);
    const { animal } = await test.get<{ animal: { holder: { label: string } } }>(
      `query ($id: ID!) { animal(id: $id) { holder { label } } }`,
      { id: animalId },
      partner.token,
    );
    expect(animal.holder.label).toBe('The House');
    expect(
      await world.db.animalFact.count({ where: { animalId, body: { path: ['text'], equals: 'Of the house' } } }),
    ).toBe(1);
    const members = await world.db.keeperMember.findMany({ where: { keeperId: leaver.keeperId, endedAt: null } });
    expect(members.map(({ accountId }) => accountId)).toEqual([partner.accountId]);
  });

  it('takes the reasons it gave and leaves those others gave, and a paper that proves what somebody else has', async () => {
    const word = `WORD${uuid().slice(-8).toUpperCase()}`;
    const [jane, bert] = [await person(word), await world.keeper('Bert')];
    const [first, second] = [await world.animal(jane, taxonId, { name: 'One' }), await world.animal(bert, taxonId, {})];
    await done('recordFact', { animalId: first, name: 'Two', reason: `${word}-HERS` }, jane);
    const paper = { keeperId: jane.keeperId, jurisdiction: 'NL', authority: 'The authority' };
    const record = (kind: string, number: string, covers: object) =>
      done<{ document: { id: string } }>(
        'recordDocument',
        { ...paper, kind, number, covers: [covers] },
        jane,
        'document { id }',
      );
    const needed = await record('certificate', 'CERTIFICATE-1', { animalId: first });
    await record('licence', `${word}-LICENCE`, { wholeCollection: true });
    const { status } = await test
      .http()
      .put(`/documents/${needed.document.id}/files`)
      .query({ name: `${word}-SCAN.pdf` })
      .set('content-type', 'application/pdf')
      .set('authorization', `Bearer ${jane.token}`)
      .send(Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n'));
    expect(status).toBe(201);
    await done('recordMark', { animalId: second, kind: 'transponder', value: '528140000000077' }, bert);
    await done('tellKeeper', { kind: 'transponder', value: '528140000000077', message: `${word}-FOUND` }, jane);
    await give(jane, bert, [first]);
    await done('recordFact', { animalId: first, name: 'Three', reason: 'HIS-REASON' }, bert);

    expect(refused(await forget(jane))).toBe('done');
    const rest = await wholeDatabase();
    expect(linesWith(rest, word)).toEqual([]);
    expect(linesWith(rest, 'HIS-REASON').some((line) => line.startsWith('animal_fact'))).toBe(true);
    expect(linesWith(rest, 'CERTIFICATE-1').map((line) => line.split(':')[0])).toEqual(['holding_document']);
    expect(await world.db.documentFile.count({ where: { documentId: needed.document.id } })).toBe(1);
    expect(await world.db.outboxMessage.count({ where: { job: removeFiles.name, actorId: jane.accountId } })).toBe(0);
  });

  it('waits for another registrar where a club has other members, and not where it has none', async () => {
    const [founder, member] = [await person('Founder'), await world.keeper('Member')];
    const clubId = await world.club(founder, member);
    await world.db.office.create({
      data: { id: uuid(), clubId, accountId: founder.accountId, validFrom: new Date('2026-01-01') },
    });
    const answer = await forget(founder);
    expect(answer.errors?.[0]?.extensions.blockers).toEqual([
      { kind: 'club', id: clubId, remedy: 'Appoint another registrar of the club.' },
    ]);
    await world.db.clubMember.updateMany({
      where: { clubId, keeperId: member.keeperId },
      data: { leftOn: new Date('2026-06-01') },
    });
    expect(refused(await forget(founder))).toBe('done');
    const office = await world.db.office.findFirstOrThrow({ where: { clubId } });
    expect(office.validTo?.toISOString().slice(0, 10)).toBe('2026-06-10');
  });

  it('waits for another guardian while a keeper is a minor’s, and no longer', async () => {
    const [guardian, minor] = [await person('Guardian'), await world.keeper('Minor')];
    const { keeperId } = minor;
    await world.db.keeper.update({ where: { id: keeperId }, data: { minorUntil: new Date('2030-01-01') } });
    await world.db.keeperMember.create({
      data: { keeperId, accountId: guardian.accountId, role: 'guardian', since: new Date() },
    });
    const answer = await forget(guardian);
    expect(answer.errors?.[0]?.extensions.blockers.map(({ kind, id }) => [kind, id])).toEqual([['keeper', keeperId]]);
    await world.db.keeper.update({ where: { id: keeperId }, data: { minorUntil: new Date('2026-06-10') } });
    expect(refused(await forget(guardian))).toBe('done');
    expect(await world.db.keeperMember.count({ where: { keeperId, endedAt: null } })).toBe(1);
  });

  it('counts wrong passwords as sign-in does', async () => {
    const guessed = await person('Guessed');
    for (let i = 0; i < 5; i += 1) expect(refused(await forget(guessed, 'not the password'))).toBe('PASSWORD_WRONG');
    expect(refused(await forget(guessed))).toBe('RATE_LIMITED');
  });

  it('of two requests at once forgets once', async () => {
    const twice = await person('Twice');
    const answers = await Promise.all([forget(twice), forget(twice)]);
    expect(answers.map(refused).filter((each) => each !== 'done' && each !== 'UNAUTHENTICATED')).toEqual([]);
    expect(await world.db.ledgerEntry.count({ where: { action: 'account.forgotten', actorId: twice.accountId } })).toBe(
      1,
    );
  });

  it('reads the transfers of somebody who gave to a forgotten keeper', async () => {
    const [giver, gone] = [await world.keeper('Giver'), await person('Gone')];
    const animalId = await world.animal(giver, taxonId, {});
    await give(giver, gone, [animalId], { message: 'For Gone', price: { minor: 500, currency: 'EUR' } });
    await done('recordDeath', { animalId, on: '2026-06-10' }, gone);
    expect(refused(await forget(gone))).toBe('done');
    const [row] = await world.db.transfer.findMany({ where: { fromKeeperId: giver.keeperId } });
    expect(row).toMatchObject({ message: null, priceMinor: 500n }); // the letter went with its reader, the price is the giver's
  });
});
