import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { pdfText } from '../support/pdf-text.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

const FIELDS = `id state version offeredAt sentOn receivedOn takenUpAt message price { minor currency }
  from { kind keeperId label } to { kind keeperId label }
  items { animalId count arrivals { state count } animal { id registerNumber viewerLevel name } }
  viewerCan { accept decline send receive withdraw }`;

type Party = { kind: string; keeperId: string | null; label: string };
type Transfer = {
  id: string;
  state: string;
  version: number;
  sentOn: string | null;
  receivedOn: string | null;
  takenUpAt: string | null;
  message: string | null;
  price: { minor: number; currency: string } | null;
  from: Party;
  to: Party;
  items: {
    animalId: string;
    count: number;
    arrivals: { state: string; count: number }[];
    animal: { id: string; registerNumber: string; viewerLevel: string; name: string | null } | null;
  }[];
  viewerCan: Record<string, boolean>;
};
type Book = { opening: number; arrived: number; departed: number; closing: number; unaccounted: number };

let test: TestApp;
let world: RegistryWorld;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
});
afterAll(async () => {
  await world.close();
  await test.close();
});

/** Sends one of the transfer mutations; gives the answer as it came. */
function send(
  name: string,
  input: object,
  who: TestKeeper,
): Promise<Answer<Record<string, { transfer: Transfer; claimCode?: string }>>> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const more = name === 'offerTransfer' ? 'claimCode' : '';
  return test.ask(
    `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { ${FIELDS} } ${more} } }`,
    { input },
    who.token,
  );
}

/** The same, failing the test when it was refused. */
async function done(name: string, input: object, who: TestKeeper): Promise<{ transfer: Transfer; claimCode?: string }> {
  const answer = await send(name, input, who);
  const payload = answer.data?.[name];
  if (answer.errors !== undefined || payload === undefined)
    throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
  return payload;
}

async function readTransfer(id: string, who: TestKeeper): Promise<Answer<{ transfer: Transfer }>> {
  return test.ask(`query ($id: ID!) { transfer(id: $id) { ${FIELDS} } }`, { id }, who.token);
}

async function book(who: TestKeeper, from: string, asOf: string): Promise<Book> {
  const { stockBook } = await test.get<{ stockBook: Book }>(
    `query ($id: ID!, $from: Day!, $asOf: Day!) { stockBook(keeperId: $id, from: $from, asOf: $asOf) {
      opening arrived departed closing unaccounted } }`,
    { id: who.keeperId, from, asOf },
    who.token,
  );
  return stockBook;
}

async function print(id: string, who: TestKeeper | null, query = '') {
  const sent = test.http().get(`/transfers/${id}/record.pdf${query}`);
  if (who !== null) void sent.set('authorization', `Bearer ${who.token}`);
  return sent.buffer(true).parse((response, callback) => {
    const chunks: Buffer[] = [];
    response.on('data', (chunk: Buffer) => chunks.push(chunk));
    response.on('end', () => callback(null, Buffer.concat(chunks)));
  });
}

async function printed(id: string, who: TestKeeper, query = ''): Promise<string> {
  const response = await print(id, who, query);
  expect(response.status).toBe(200);
  return pdfText(response.body as Buffer);
}

describe('a juvenile handed to a buyer without an account at a show', () => {
  let giver: TestKeeper;
  let buyer: TestKeeper;
  let juvenile: string;
  let dam: string;
  let transferId: string;
  let claimCode: string;
  let number: string;

  beforeAll(async () => {
    test.setDay('2026-05-20');
    giver = await world.keeper('Haus Lindenau');
    await world.db.keeper.update({ where: { id: giver.keeperId }, data: { region: 'AT-7' } });
    const taxon = await world.taxon();
    dam = await world.animal(giver, taxon, { sex: 'female', since: '2024-01-01' });
    juvenile = await world.animal(giver, taxon, {
      birth: { edtf: '2026-05~', manner: 'hatched' },
      originClass: 'bred',
      damId: dam,
      since: '2026-05-18',
      arrivedBy: 'born',
    });
    test.setDay('2026-08-30');
  });
  afterAll(() => test.setDay(null));

  it('is offered, accepted, sent and received by the giver on the buyer’s behalf', async () => {
    const offered = await done(
      'offerTransfer',
      {
        fromKeeperId: giver.keeperId,
        kind: 'sale',
        toOutsideParty: { name: 'Irina Veles', contact: 'irina@mail.example' },
        items: [{ animalId: juvenile }],
        price: { minor: 17_350, currency: 'EUR' },
        message: 'Paid in cash.',
      },
      giver,
    );
    ({ claimCode = '' } = offered);
    transferId = offered.transfer.id;
    number = offered.transfer.items[0]?.animal?.registerNumber ?? '';
    expect(claimCode).toMatch(/^([0-9A-Z]{5}-){3}[0-9A-Z]{5}$/);
    expect(offered.transfer).toMatchObject({
      state: 'offered',
      to: { kind: 'outside_party', keeperId: null, label: 'Irina Veles' },
      viewerCan: { accept: true, decline: true, withdraw: true, send: false, receive: false },
    });
    await done('acceptTransfer', { transferId, expectedVersion: 1 }, giver);
    await done('sendTransfer', { transferId, sentOn: '2026-08-30' }, giver);
    const items = [{ animalId: juvenile, arrivals: [{ state: 'well', count: 1 }] }];
    const { transfer } = await done('receiveTransfer', { transferId, receivedOn: '2026-08-30', items }, giver);
    expect(transfer).toMatchObject({
      state: 'received',
      receivedOn: '2026-08-30',
      items: [{ arrivals: [{ state: 'well', count: 1 }] }],
    });
    expect(await book(giver, '2026-08-01', '2026-08-30')).toEqual({
      opening: 2,
      arrived: 0,
      departed: 1,
      closing: 1,
      unaccounted: 0,
    });
  });

  it('leaves with a printed record that shows what is known and what is not, and nothing private', async () => {
    const text = await printed(transferId, giver);
    for (const part of [
      number,
      'about May 2026',
      'Sire unknown',
      claimCode,
      'bred in captivity',
      'not a proof of origin',
    ]) {
      expect(text).toContain(part);
    }
    expect(text).not.toMatch(/irina|173\.50|17350|EUR|AT-7|cash|Lindenau/i);
    expect(await printed(transferId, giver, '?showGiver=1')).toContain('Given by: Haus Lindenau');
  });

  it('printed twice is one paper', async () => {
    await printed(transferId, giver);
    expect(await world.db.recordPaper.count({ where: { transferId } })).toBe(2); // with and without the giver's name
  });

  it('is printed for the two parties only, and for nobody who is not signed in', async () => {
    const stranger = await world.keeper('Stranger');
    expect((await print(transferId, stranger)).status).toBe(404);
    expect((await print(uuid(), stranger)).status).toBe(404);
    expect((await print('not-an-id', stranger)).status).toBe(404);
    expect((await print(transferId, null)).status).toBe(401);
  });

  it('a week later the buyer takes it up: the arrival is in their book on the day of the hand-over, the record theirs to read', async () => {
    test.setDay('2026-09-06');
    buyer = await world.keeper('Irina Veles');
    expect((await readTransfer(transferId, buyer)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    const { transfer } = await done(
      'takeUpTransfer',
      { claimCode: claimCode.toLowerCase(), keeperId: buyer.keeperId },
      buyer,
    );
    expect(transfer).toMatchObject({
      state: 'received',
      from: { label: 'Haus Lindenau' },
      to: { kind: 'keeper', keeperId: buyer.keeperId },
      items: [{ animal: { id: juvenile, viewerLevel: 'full' } }],
    });
    // The giver knows a name from the show, not which keeper of the registry that is.
    const given = await readTransfer(transferId, giver);
    expect(given.data?.transfer.to).toEqual({
      kind: 'outside_party',
      keeperId: null,
      label: 'Taken up in the registry',
    });
    expect(await book(buyer, '2026-08-30', '2026-08-30')).toEqual({
      opening: 0,
      arrived: 1,
      departed: 0,
      closing: 1,
      unaccounted: 0,
    });
    expect(await book(giver, '2026-08-30', '2026-09-06')).toEqual({
      opening: 2,
      arrived: 0,
      departed: 1,
      closing: 1,
      unaccounted: 0,
    });
    const again = await send('takeUpTransfer', { claimCode, keeperId: buyer.keeperId }, buyer);
    expect(again.errors?.[0]?.message).toBe('No record waits to be taken up under this code.');
    for (const who of [giver, buyer]) expect(await printed(transferId, who)).not.toContain('claim code');
  });

  it('only the giver puts the giver’s name on paper', async () => {
    expect((await print(transferId, buyer, '?showGiver=1')).status).toBe(403);
  });

  it('months later somebody reads the paper and sees what agrees, what changed, and what is not shown', async () => {
    const paper = await world.db.recordPaper.findFirst({ where: { transferId }, orderBy: { id: 'asc' } });
    const url = `/papers/${paper?.checkCode ?? ''}`;
    const before = await test.http().get(url);
    expect(before.status).toBe(200);
    expect(before.headers['content-type']).toBe('text/html; charset=utf-8');
    expect(before.headers['x-robots-tag']).toContain('noindex');
    expect(before.text).toContain(number);
    expect(before.text).toContain('unchanged');

    test.setDay('2027-03-01');
    await test.get(
      `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`,
      { input: { animalId: juvenile, sex: { sex: 'female' }, reason: 'Grown up.' } },
      buyer.token,
    );
    const after = await test.http().get(url.toLowerCase());
    expect(after.text).toContain('changed since: sex');
    expect(after.text).toContain('What this page does not show');
    expect(after.text).not.toMatch(/female|Irina|Lindenau|AT-7|17350|2026-05/);

    // The giver's late reprint shows the record as it left.
    expect(await printed(transferId, giver)).not.toContain('female');
    expect(await printed(transferId, buyer)).toContain('female');
  });

  it('a code no paper has gives one page, mistyped or not', async () => {
    const [mistyped, unknown] = [
      await test.http().get('/papers/hello'),
      await test.http().get('/papers/34679CDFGHJKMNPQRTVW'),
    ];
    expect([mistyped.status, unknown.status]).toEqual([404, 404]);
    expect(mistyped.text).toBe(unknown.text);
    expect(mistyped.text).toContain('No paper of this registry has this code.');
  });
});

describe('froglets sent by post', () => {
  it('part of a lot is split off; one is dead on arrival, two go back: both books balance', async () => {
    test.setDay('2026-04-01');
    const [giver, receiver] = [await world.keeper('Pond'), await world.keeper('Brook')];
    const lot = await world.lot(giver, await world.taxon(), 30);
    test.setDay('2026-04-10');
    const { transfer } = await done(
      'offerTransfer',
      {
        fromKeeperId: giver.keeperId,
        kind: 'exchange',
        toKeeperId: receiver.keeperId,
        items: [{ animalId: lot, count: 12 }],
      },
      giver,
    );
    const transferId = transfer.id;
    const part = transfer.items[0]?.animalId ?? '';
    expect((await readTransfer(transferId, receiver)).data?.transfer.items[0]?.animal?.viewerLevel).toBe('offered');
    await done('acceptTransfer', { transferId }, receiver);
    await done('sendTransfer', { transferId, sentOn: '2026-04-10' }, giver);
    test.setDay('2026-04-12');
    const arrivals = [
      { state: 'well', count: 9 },
      { state: 'dead', count: 1 },
      { state: 'refused', count: 2 },
    ];
    await done(
      'receiveTransfer',
      { transferId, receivedOn: '2026-04-12', items: [{ animalId: part, arrivals }] },
      receiver,
    );
    expect(await book(giver, '2026-04-02', '2026-04-12')).toMatchObject({ opening: 30, closing: 20, unaccounted: 0 });
    expect(await book(receiver, '2026-04-02', '2026-04-12')).toMatchObject({ opening: 0, closing: 9, unaccounted: 0 });
    test.setDay(null);
  });
});

describe('the transfer API', () => {
  it('lists what a keeper gives and receives, page by page, and no one else’s', async () => {
    const [giver, receiver, third] = [await world.keeper('A'), await world.keeper('B'), await world.keeper('C')];
    const taxon = await world.taxon();
    const ids: string[] = [];
    for (let i = 0; i < 3; i++) {
      const animalId = await world.animal(giver, taxon);
      const input = {
        fromKeeperId: giver.keeperId,
        kind: 'gift',
        toKeeperId: receiver.keeperId,
        items: [{ animalId }],
      };
      ids.unshift((await done('offerTransfer', input, giver)).transfer.id);
    }
    const list = async (who: TestKeeper, first: number, after: string | null) => {
      type Page = { edges: { node: { id: string } }[]; pageInfo: { hasNextPage: boolean; endCursor: string | null } };
      const { myTransfers } = await test.get<{ myTransfers: Page }>(
        `query ($k: ID!, $first: Int, $after: String) { myTransfers(keeperId: $k, first: $first, after: $after) {
          edges { node { id } } pageInfo { hasNextPage endCursor } } }`,
        { k: who.keeperId, first, after },
        who.token,
      );
      return { ids: myTransfers.edges.map((edge) => edge.node.id), ...myTransfers.pageInfo };
    };
    const page = await list(giver, 2, null);
    expect(page).toMatchObject({ ids: ids.slice(0, 2), hasNextPage: true });
    expect(await list(giver, 2, page.endCursor)).toMatchObject({ ids: ids.slice(2), hasNextPage: false });
    expect((await list(receiver, 20, null)).ids).toEqual(ids);
    expect((await list(third, 20, null)).ids).toEqual([]);
    const foreign = await test.ask(
      `query ($k: ID!) { myTransfers(keeperId: $k) { edges { cursor } } }`,
      { k: giver.keeperId },
      third.token,
    );
    expect(foreign.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });

  it('says what is wrong by field, and what stands in the way by record', async () => {
    const [giver, receiver] = [await world.keeper('A'), await world.keeper('B')];
    const animalId = await world.animal(giver, await world.taxon());
    const base = { fromKeeperId: giver.keeperId, kind: 'sale', items: [{ animalId }] };
    const both = await send('offerTransfer', { ...base, price: { minor: 1, currency: 'XYZ' } }, giver);
    expect(both.errors?.[0]?.extensions).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.price.currency' }, { path: 'input.toKeeperId' }],
    });
    const neither = await send('offerTransfer', base, giver);
    expect(neither.errors?.[0]?.extensions.fields).toMatchObject([{ path: 'input.toKeeperId' }]);

    const { transfer } = await done('offerTransfer', { ...base, toKeeperId: receiver.keeperId }, giver);
    const twice = await send('offerTransfer', { ...base, toKeeperId: receiver.keeperId }, giver);
    expect(twice.errors?.[0]?.extensions).toMatchObject({
      code: 'RULE_REFUSED',
      rule: 'TRANSFER_OPEN',
      blockers: [{ kind: 'transfer', id: transfer.id }],
    });
    const early = await send('sendTransfer', { transferId: transfer.id, sentOn: '2020-01-01' }, giver);
    expect(early.errors?.[0]?.extensions.rule).toBe('TRANSFER_NOT_ACCEPTED');
  });

  it('a third keeper of the same club sees neither the transfer nor, by the animal, that there is one', async () => {
    const [giver, receiver, third] = [await world.keeper('A'), await world.keeper('B'), await world.keeper('C')];
    await world.club(giver, receiver, third);
    const animalId = await world.animal(giver, await world.taxon(), { name: 'Secret name' });
    const input = {
      fromKeeperId: giver.keeperId,
      kind: 'sale',
      toKeeperId: receiver.keeperId,
      items: [{ animalId }],
      message: 'private words',
      price: { minor: 4_200, currency: 'EUR' },
    };
    const { transfer } = await done('offerTransfer', input, giver);
    const answer = await readTransfer(transfer.id, third);
    expect(answer.errors?.[0]).toMatchObject({
      message: 'No transfer with this id is visible to you.',
      extensions: { code: 'NOT_FOUND' },
    });
    const offerByThird = await send(
      'offerTransfer',
      { ...input, fromKeeperId: third.keeperId, message: null, price: null },
      third,
    );
    expect(offerByThird.errors?.[0]?.extensions).toMatchObject({
      rule: 'TRANSFER_NOT_HELD',
      blockers: [{ id: animalId }],
    });
    for (const seen of [answer, offerByThird])
      expect(JSON.stringify(seen)).not.toMatch(/private words|[:"]4200\b|Secret name/);
    const { data } = await readTransfer(transfer.id, receiver);
    expect(data?.transfer).toMatchObject({ message: 'private words', price: { minor: 4_200, currency: 'EUR' } });
  });
});
