import { createHash } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { type ExportDocument, exportDocument } from '../../libs/exchange/index.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const EXPORT = `query ($k: ID!) { exportMyData(keeperId: $k) { fileName mediaType json } }`;

describe('the export of own data', () => {
  let test: TestApp;
  let world: RegistryWorld;
  beforeAll(async () => {
    test = await startTestApp();
    test.setDay('2026-06-10');
    world = new RegistryWorld(test);
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const take = async (keeper: TestKeeper): Promise<{ text: string; document: ExportDocument; fileName: string }> => {
    const { exportMyData } = await test.get<{ exportMyData: { fileName: string; mediaType: string; json: string } }>(
      EXPORT,
      { k: keeper.keeperId },
      keeper.token,
    );
    expect(exportMyData.mediaType).toBe('application/json');
    const document = exportDocument.parse(JSON.parse(exportMyData.json));
    return { text: exportMyData.json, document, fileName: exportMyData.fileName };
  };
  const change = <T>(name: string, type: string, input: object, keeper: TestKeeper, fields = '__typename') =>
    test.get<Record<string, T>>(
      `mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`,
      { input },
      keeper.token,
    );
  const fact = (animalId: string, keeper: TestKeeper, more: object) =>
    change('recordFact', 'RecordFactInput', { animalId, ...more }, keeper);
  const offer = async (from: TestKeeper, input: object): Promise<string> => {
    const { offerTransfer } = await change<{ transfer: { id: string } }>(
      'offerTransfer',
      'OfferTransferInput',
      { fromKeeperId: from.keeperId, ...input },
      from,
      'transfer { id }',
    );
    return offerTransfer?.transfer.id ?? '';
  };
  /** A whole hand-over in one go, on the day the clock shows. */
  const give = async (from: TestKeeper, to: TestKeeper, animalId: string, count: number, terms: object) => {
    const transferId = await offer(from, { items: [{ animalId }], kind: 'sale', toKeeperId: to.keeperId, ...terms });
    await change('acceptTransfer', 'AcceptTransferInput', { transferId }, to);
    await change('sendTransfer', 'SendTransferInput', { transferId, sentOn: '2026-06-10' }, from);
    const items = [{ animalId, arrivals: [{ state: 'well', count }] }];
    await change('receiveTransfer', 'ReceiveTransferInput', { transferId, receivedOn: '2026-06-10', items }, to);
    return transferId;
  };
  /** Everything private a keeper can have, each with a word of its own. Gives the words. */
  const plant = async (keeper: TestKeeper, taxonId: string, word: string): Promise<string[]> => {
    await world.db.keeper.update({ where: { id: keeper.keeperId }, data: { region: `${word}-REGION` } });
    await world.db.account.update({
      where: { id: keeper.accountId },
      data: { email: `${word.toLowerCase()}-mail@example.org` },
    });
    await world.db.notice.create({
      data: {
        id: uuid(),
        keeperId: keeper.keeperId,
        kind: 'test',
        body: { text: `${word}-NOTICE` },
        dedupeKey: uuid(),
        createdAt: new Date(),
      },
    });
    const id = await world.animal(keeper, taxonId, {
      name: `${word}-NAME`,
      marks: [{ kind: 'tag', value: `${word}-MARK` }],
    });
    for (const topic of ['care', 'health', 'private']) {
      await fact(id, keeper, { note: { topic, text: `${word}-NOTE-${topic}` } });
    }
    await offer(keeper, {
      items: [{ animalId: id }],
      kind: 'sale',
      message: `${word}-MESSAGE`,
      price: { minor: 12_345, currency: 'EUR' },
      toOutsideParty: { name: `${word}-OUTSIDE`, contact: `${word}-CONTACT` },
    });
    const { keeperId, accountId } = keeper;
    const mail = { id: uuid(), accountId, subject: 'A reminder', text: `${word}-MAIL`, dedupeKey: uuid() };
    await world.db.mailMessage.create({ data: { ...mail, createdAt: new Date() } });
    await change('recordEnclosure', 'RecordEnclosureInput', { keeperId, name: `${word}-ENCLOSURE` }, keeper);
    const document = { kind: 'licence', number: `${word}-NUMBER`, authority: `${word}-AUTHORITY`, jurisdiction: 'NL' };
    await change(
      'recordDocument',
      'RecordDocumentInput',
      { keeperId, ...document, covers: [{ animalId: id }] },
      keeper,
    );
    await change(
      'openQuarantine',
      'OpenQuarantineInput',
      { keeperId, name: `${word}-GROUP`, animalIds: [id], enteredOn: '2026-06-10' },
      keeper,
    );
    const dam = await world.animal(keeper, taxonId, { sex: 'female', since: '2026-06-01' });
    await change('recordMating', 'RecordMatingInput', { damId: dam, when: '2026-06-02' }, keeper);
    await change('recordClutch', 'RecordClutchInput', { damId: dam, laid: '2026-06-09', eggCount: 2 }, keeper);
    return [
      ...[
        'MAIL',
        'ENCLOSURE',
        'NUMBER',
        'AUTHORITY',
        'GROUP',
        'REGION',
        'NOTICE',
        'NAME',
        'MARK',
        'NOTE-care',
        'NOTE-health',
        'NOTE-private',
        'MESSAGE',
        'OUTSIDE',
        'CONTACT',
      ].map((what) => `${word}-${what}`),
      `${word.toLowerCase()}-mail@example.org`,
    ];
  };

  it('holds all that is private to the keeper, and nothing private of those the keeper dealt with', async () => {
    const taxonId = await world.taxon();
    const [anna, bert] = [await world.keeper('Anna'), await world.keeper('Bert')];
    await world.club(anna, bert);
    const own = await plant(anna, taxonId, 'OWNWORD');
    const foreign = await plant(bert, taxonId, 'FOREIGNWORD');

    // Bert's before Anna had it: the record comes along, Bert's private note does not.
    const bought = await world.animal(bert, taxonId, { name: 'Bought' });
    await fact(bought, bert, { note: { topic: 'private', text: 'FOREIGNWORD-BEFORE' } });
    await fact(bought, bert, { note: { topic: 'care', text: 'Comes along' } });
    await give(bert, anna, bought, 1, { message: 'Between us two', price: { minor: 999, currency: 'EUR' } });
    // Anna's until Bert had it: nothing recorded later is there, not even that something was corrected.
    const sold = await world.animal(anna, taxonId, { name: 'Sold' });
    await fact(sold, anna, { note: { topic: 'private', text: 'OWNWORD-BEFORE' } });
    await give(anna, bert, sold, 1, {});
    test.setDay('2026-06-20');
    await change(
      'recordFact',
      'RecordFactInput',
      { animalId: sold, name: 'FOREIGNWORD-RENAMED', reason: 'A new name' },
      bert,
    );
    await fact(sold, bert, { note: { topic: 'care', text: 'FOREIGNWORD-AFTER' } });
    const lot = await world.lot(anna, taxonId, 12, { since: '2026-05-01' });
    await change('recordDeath', 'RecordDeathInput', { animalId: lot, count: 2, on: '2026-05-20' }, anna);

    const { text, document, fileName } = await take(anna);
    for (const word of [...own, 'OWNWORD-BEFORE', 'Between us two', 'Comes along']) expect(text).toContain(word);
    expect(text.toLowerCase()).not.toContain('foreignword');
    expect(foreign.every((word) => word.toLowerCase().startsWith('foreignword'))).toBe(true);
    expect(fileName).toBe('kithbook-export-2026-06-20.json');

    const animal = (name: string) => document.animals.find((each) => each.name === name);
    expect(animal('Sold')).toMatchObject({
      level: 'past',
      custody: [{ from: '2026-06-10', to: '2026-06-10', leftBy: 'given', wentTo: 'Bert' }],
      ownership: [{ parts: 1, of: 1 }],
    });
    expect(animal('Sold')?.facts.every((each) => each.supersededAt === null)).toBe(true);
    expect(animal('Bought')).toMatchObject({ level: 'full', custody: [{ to: null, cameFrom: 'Bert' }] });
    expect(document.animals.find((each) => each.kind === 'lot')?.countChanges.map((each) => each.delta)).toEqual([
      12, -2,
    ]);
    expect(document.transfers.map(({ side, other, price }) => [side, other, price?.minor ?? null])).toEqual([
      ['giver', 'OWNWORD-OUTSIDE', '12345'],
      ['receiver', 'Bert', '999'],
      ['giver', 'Bert', null],
    ]);
    expect(document.stockBook).toMatchObject({ closing: 13, unaccounted: 0 });
    const number = /^[0-9A-Z]{3}-[0-9A-Z]{3}-[0-9A-Z]{3}$/;
    expect(document).toMatchObject({
      matings: [{ dam: expect.stringMatching(number), sire: null, when: { edtf: '2026-06-02' } }],
      clutches: [
        {
          dams: [{ animal: expect.stringMatching(number), probability: 1 }],
          eggCount: 2,
          laid: { edtf: '2026-06-09' },
          hatchings: [],
        },
      ],
    });
    expect(document.quarantines.map(({ name }) => name)).toContain('OWNWORD-GROUP');

    // The words are there to be found: the other keeper's own export has them.
    const berts = (await take(bert)).text;
    for (const word of [...foreign, 'FOREIGNWORD-BEFORE', 'FOREIGNWORD-RENAMED', 'FOREIGNWORD-AFTER'])
      expect(berts).toContain(word);
    expect(berts).not.toContain('OWNWORD');
    test.setDay('2026-06-10');
  });

  it('holds what was agreed, corrected, sent and asked, each with its words, and of the other side only what is between the two', async () => {
    const taxonId = await world.taxon();
    const [anna, bert] = [await world.keeper('Anna'), await world.keeper('Bert')];
    const clubId = await world.club(bert);
    await world.db.club.update({ where: { id: clubId }, data: { slug: `s-${clubId}` } });
    await change(
      'applyToClub',
      'ApplyToClubInput',
      { keeperId: anna.keeperId, slug: `s-${clubId}`, message: 'OWN-APPLICATION' },
      anna,
    );
    await change(
      'inviteToKeeper',
      'InviteToKeeperInput',
      { keeperId: anna.keeperId, email: 'own-friend@example.org', role: 'helper' },
      anna,
    );

    const animalId = await world.animal(bert, taxonId, { name: 'First', marks: [{ kind: 'tag', value: '77' }] });
    await fact(animalId, bert, { name: 'Second', reason: 'FOREIGN-REASON' });
    const transferId = await offer(bert, {
      items: [{ animalId }],
      kind: 'gift',
      toKeeperId: anna.keeperId,
      answerBy: '2026-07-01',
      conditions: [{ kind: 'other', text: 'BETWEEN-CONDITION' }],
    });
    const { id: conditionId } = await world.db.transferCondition.findFirstOrThrow({ where: { transferId } });
    await change('acceptTransfer', 'AcceptTransferInput', { transferId }, anna);
    await change(
      'settleTransferCondition',
      'SettleTransferConditionInput',
      { transferId, conditionId, settledAs: 'met' },
      anna,
    );
    const sending = {
      transferId,
      sentOn: '2026-06-10',
      way: 'shipment',
      carrier: 'BETWEEN-CARRIER',
      tracking: 'BETWEEN-TRACKING',
    };
    await change('sendTransfer', 'SendTransferInput', sending, bert);
    const items = [{ animalId, note: 'OWN-ARRIVAL', arrivals: [{ state: 'well', count: 1 }] }];
    await change('receiveTransfer', 'ReceiveTransferInput', { transferId, receivedOn: '2026-06-10', items }, anna);

    await fact(animalId, anna, { name: 'Third', reason: 'OWN-REASON' });
    await fact(animalId, anna, { name: 'Fourth', reason: 'OWN-SECOND-REASON' });
    const mark = await world.db.animalMark.findFirstOrThrow({ where: { animalId } });
    await change(
      'correctMark',
      'CorrectMarkInput',
      { markId: mark.seriesId, value: '78', reason: 'OWN-MARK-REASON' },
      anna,
    );
    const bytes = Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');
    const http = (keeper: TestKeeper, address: string, method: 'get' | 'put' = 'get') =>
      test.http()[method](address).set('authorization', `Bearer ${keeper.token}`);
    await http(anna, `/animals/${animalId}/files`, 'put')
      .query({ name: 'OWN-FILE.pdf', caption: 'OWN-CAPTION' })
      .set('content-type', 'application/pdf')
      .send(bytes);
    await http(bert, `/animals/${await world.animal(bert, taxonId, {})}/files`, 'put')
      .query({ name: 'FOREIGN-FILE.pdf' })
      .set('content-type', 'application/pdf')
      .send(bytes);

    const { document, text } = await take(anna);
    expect(text).not.toContain('FOREIGN-');
    expect(document.transfers[0]).toMatchObject({
      side: 'receiver',
      answerBy: '2026-07-01',
      way: 'shipment',
      carrier: 'BETWEEN-CARRIER',
      tracking: 'BETWEEN-TRACKING',
      title: 'on_receipt',
      conditions: [{ kind: 'other', text: 'BETWEEN-CONDITION', settledAs: 'met' }],
      items: [{ note: 'OWN-ARRIVAL', notSent: false, receivedOn: '2026-06-10' }],
    });
    const [exported] = document.animals;
    const names = exported?.facts
      .filter(({ kind }) => kind === 'name')
      .map(({ body, reason }) => [body['name'], reason]);
    expect(names).toEqual([
      ['Third', 'OWN-SECOND-REASON'],
      ['Fourth', null],
    ]);
    expect(document.corrections).toEqual([
      expect.objectContaining({ of: 'fact', animal: exported?.registerNumber, reason: 'OWN-REASON' }),
      expect.objectContaining({ of: 'mark', animal: exported?.registerNumber, reason: 'OWN-MARK-REASON' }),
    ]);
    const [file] = exported?.files ?? [];
    expect(file).toMatchObject({ fileName: 'OWN-FILE.pdf', caption: 'OWN-CAPTION', mediaType: 'application/pdf' });
    const fetched = await http(anna, file?.address ?? '').buffer(true);
    expect(
      createHash('sha256')
        .update(fetched.body as Buffer)
        .digest('hex'),
    ).toBe(file?.sha256);
    expect(document).toMatchObject({
      schemaVersion: 3,
      account: { sessions: [{ endedAt: null }], memberships: [{ keeper: 'Anna', role: 'owner', endedAt: null }] },
      people: [{ role: 'owner', email: document.account.email }],
      invitations: [{ email: 'own-friend@example.org', role: 'helper' }],
      clubApplications: [{ state: 'open', message: 'OWN-APPLICATION' }],
      sharing: [{ of: 'keeper', holdings: 'nobody', lineageWithheld: false, endedAt: null }],
    });
    // A mail with a code is told of, its code is not: it proves who reads the mailbox.
    expect(document.mails.map((mail) => mail.text)).toEqual([null]);
    // Bert's has his words and what is between the two.
    const berts = await take(bert);
    for (const word of ['FOREIGN-REASON', 'BETWEEN-CONDITION', 'OWN-ARRIVAL', 'FOREIGN-FILE.pdf'])
      expect(berts.text).toContain(word);
    for (const word of ['OWN-REASON', 'OWN-MARK-REASON', 'OWN-FILE', 'OWN-APPLICATION'])
      expect(berts.text).not.toContain(word);
  });

  it('is for owners of the keeper only', async () => {
    const [keeper, other] = [await world.keeper('Owner'), await world.keeper('Helper')];
    const ask = async () => (await test.ask(EXPORT, { k: keeper.keeperId }, other.token)).errors?.[0]?.extensions.code;
    expect(await ask()).toBe('NOT_FOUND');
    await world.db.keeperMember.create({
      data: { keeperId: keeper.keeperId, accountId: other.accountId, role: 'helper', since: new Date() },
    });
    expect(await ask()).toBe('FORBIDDEN');
    expect((await test.ask(EXPORT, { k: keeper.keeperId })).errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
  });

  it('takes as many statements for 30 animals as for 6, at most 120', async () => {
    const taxonId = await world.taxon();
    const keeper = await world.keeper('Many');
    const fill = async (count: number): Promise<void> => {
      const sireId = await world.animal(keeper, taxonId, { sex: 'male', marks: [{ kind: 'notch', value: 'x' }] });
      await world.lot(keeper, taxonId, 4, {});
      for (let i = 2; i < count; i += 1) {
        await offer(keeper, {
          items: [{ animalId: await world.animal(keeper, taxonId, { sireId }) }],
          kind: 'gift',
          toOutsideParty: { name: 'Somebody' },
        });
      }
    };
    const count = async (): Promise<number> => (await statementsOf(() => take(keeper))).length;
    await fill(6);
    const few = await count();
    await fill(24);
    expect((await take(keeper)).document.animals).toHaveLength(30);
    expect(await count()).toBe(few);
    expect(few).toBeGreaterThan(15); // the count itself works
    // One or two a table: nearly every table of which a keeper has rows is in the export.
    expect(few).toBeLessThanOrEqual(120);
  });
});
