import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

type Payload = { transfer: { id: string; state: string; way: string | null }; code?: string };

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
});
afterAll(async () => {
  await world.close();
  await test.close();
});

function send(name: string, input: object, who: TestKeeper): Promise<Answer<Record<string, Payload>>> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const more = name === 'openHandOver' ? 'code' : '';
  const query = `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { id state way } ${more} } }`;
  return test.ask(query, { input }, who.token);
}

async function done(name: string, input: object, who: TestKeeper): Promise<Payload> {
  const { data, errors } = await send(name, input, who);
  const made = data?.[name];
  if (errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
  return made;
}

const ruleOf = (answer: Answer<unknown>) => answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;

/** An offer of one animal, and what the receiver sends to confirm it with a code. */
async function offered(giver: TestKeeper, receiver: TestKeeper) {
  const animalId = await world.animal(giver, taxon);
  const input = { fromKeeperId: giver.keeperId, kind: 'gift', toKeeperId: receiver.keeperId, items: [{ animalId }] };
  const transferId = (await done('offerTransfer', input, giver)).transfer.id;
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  return { transferId, animalId, confirm: (code: string) => ({ transferId, code, items }) };
}

describe('a hand-over in person', () => {
  let giver: TestKeeper;
  let receiver: TestKeeper;
  beforeEach(async () => {
    [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
  });

  it('accepts, sends and receives in one act, and the ledger says that it was in person', async () => {
    const { transferId, animalId, confirm } = await offered(giver, receiver);
    const { code = '' } = await done('openHandOver', { transferId }, giver);
    expect(code).toMatch(/^[0-9A-Z]{5}-[0-9A-Z]{5}$/);
    const { transfer } = await done('confirmHandOver', confirm(code.toLowerCase().replace('-', ' ')), receiver);
    expect(transfer).toMatchObject({ state: 'received', way: 'in_person' });
    const custody = await world.db.custody.findMany({ where: { animalId, supersededAt: null, validTo: null } });
    expect(custody.map(({ keeperId }) => keeperId)).toEqual([receiver.keeperId]);
    const entries = await world.db.ledgerEntry.findMany({
      where: { subjects: { has: transferId } },
      orderBy: { id: 'asc' },
    });
    expect(entries.map(({ action }) => action)).toEqual([
      'transfer.offered',
      'transfer.hand-over-opened',
      'transfer.accepted',
      'transfer.sent',
      'transfer.received',
      'transfer.hand-over-confirmed',
    ]);
    expect(JSON.parse(entries[3]?.body ?? '{}')).toMatchObject({ way: 'in_person' });
    // Nothing is on its way, and nobody has to send what was accepted.
    const told = await world.db.outboxMessage.findMany({
      where: { job: 'transfer.tell-other-side', payload: { path: ['transferId'], equals: transferId } },
      orderBy: { id: 'asc' },
    });
    expect(told.map(({ payload }) => payload)).toEqual([
      { transferId, keeperId: receiver.keeperId, what: 'offered' },
      { transferId, keeperId: giver.keeperId, what: 'received' },
    ]);
    const stored = JSON.stringify(await world.db.handOverCode.findMany({ where: { transferId } }));
    expect(stored).not.toContain(code.replace('-', ''));
    // Once only.
    expect(ruleOf(await send('confirmHandOver', confirm(code), receiver))).toBe('HAND_OVER_CODE_USED');
  });

  it('the giver alone opens it, the receiver alone confirms it; the square is the giver’s', async () => {
    const { transferId, confirm } = await offered(giver, receiver);
    const stranger = await world.keeper('Stranger');
    expect(ruleOf(await send('openHandOver', { transferId }, receiver))).toBe('FORBIDDEN');
    expect(ruleOf(await send('openHandOver', { transferId }, stranger))).toBe('NOT_FOUND');
    const { code = '' } = await done('openHandOver', { transferId }, giver);
    expect(ruleOf(await send('confirmHandOver', confirm(code), giver))).toBe('FORBIDDEN');
    expect(ruleOf(await send('confirmHandOver', confirm(code), stranger))).toBe('NOT_FOUND');
    const get = (who: TestKeeper, kind: string) =>
      test.http().get(`/transfers/${transferId}/hand-over.${kind}`).set('authorization', `Bearer ${who.token}`);
    const svg = await get(giver, 'svg');
    expect([svg.status, svg.headers['content-type'], svg.headers['cache-control']]).toEqual([
      200,
      'image/svg+xml',
      'no-store',
    ]);
    expect((await get(giver, 'png')).headers['content-type']).toBe('image/png');
    expect((await get(receiver, 'svg')).status).toBe(403);
    expect((await get(stranger, 'svg')).status).toBe(404);
  });

  it('a code that is mistyped, of another transfer, replaced or expired is refused, and nothing is written', async () => {
    const [one, other] = [await offered(giver, receiver), await offered(giver, receiver)];
    expect(ruleOf(await send('confirmHandOver', one.confirm('34679-CDFGH'), receiver))).toBe('INVALID_INPUT');
    const { code: foreign = '' } = await done('openHandOver', { transferId: other.transferId }, giver);
    expect(ruleOf(await send('confirmHandOver', one.confirm(foreign), receiver))).toBe('HAND_OVER_CODE_NONE');
    const { code: first = '' } = await done('openHandOver', { transferId: one.transferId }, giver);
    expect(ruleOf(await send('confirmHandOver', one.confirm(foreign), receiver))).toBe('HAND_OVER_CODE_WRONG');
    const { code: second = '' } = await done('openHandOver', { transferId: one.transferId }, giver);
    expect(ruleOf(await send('confirmHandOver', one.confirm(first), receiver))).toBe('HAND_OVER_CODE_WRONG');
    await world.db.handOverCode.updateMany({
      where: { transferId: one.transferId, closedAt: null },
      data: { expiresAt: new Date(Date.now() - 1000) },
    });
    expect(ruleOf(await send('confirmHandOver', one.confirm(second), receiver))).toBe('HAND_OVER_CODE_EXPIRED');
    const transfer = await world.db.transfer.findUniqueOrThrow({ where: { id: one.transferId } });
    expect([transfer.state, transfer.version]).toEqual(['offered', 1]);
  });

  it('ten wrong tries close the code, also for who knows it then', async () => {
    const [one, other] = [await offered(giver, receiver), await offered(giver, receiver)];
    const { code: wrong = '' } = await done('openHandOver', { transferId: other.transferId }, giver);
    const { code = '' } = await done('openHandOver', { transferId: one.transferId }, giver);
    for (let i = 0; i < 10; i++)
      expect(ruleOf(await send('confirmHandOver', one.confirm(wrong), receiver))).toBe('HAND_OVER_CODE_WRONG');
    expect(ruleOf(await send('confirmHandOver', one.confirm(code), receiver))).toBe('HAND_OVER_CODE_CLOSED');
    const { code: again = '' } = await done('openHandOver', { transferId: one.transferId }, giver);
    expect((await done('confirmHandOver', one.confirm(again), receiver)).transfer.state).toBe('received');
  });

  it('a borrowed animal in arrival quarantine goes home with a reason, where the clubs only warn of that', async () => {
    const animalId = await world.animal(giver, taxon);
    const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    const loan = {
      fromKeeperId: giver.keeperId,
      kind: 'breeding_loan',
      toKeeperId: receiver.keeperId,
      items: [{ animalId }],
    };
    const lent = (await done('offerTransfer', { ...loan, dueBack: '2099-01-01' }, giver)).transfer.id;
    const { code: there = '' } = await done('openHandOver', { transferId: lent }, giver);
    await done('confirmHandOver', { transferId: lent, code: there, items }, receiver);

    const home = {
      fromKeeperId: receiver.keeperId,
      toKeeperId: giver.keeperId,
      kind: 'loan_return',
      items: [{ animalId }],
    };
    const transferId = (await done('offerTransfer', home, receiver)).transfer.id;
    const reason = 'The breeding was broken off.';
    // Nobody can give a reason against a block.
    expect(ruleOf(await send('openHandOver', { transferId, reason }, receiver))).toBe('TRANSFER_CHECK_BLOCKS');
    const policy = { clubId: await world.club(giver, receiver), check: 'quarantine' as const };
    await world.db.clubPolicy.create({ data: { ...policy, effect: 'warn' } });
    expect(ruleOf(await send('openHandOver', { transferId }, receiver))).toBe('TRANSFER_REASON_NEEDED');
    expect(ruleOf(await send('openHandOver', { transferId, reason: ' ' }, receiver))).toBe('INVALID_INPUT');
    const { code = '' } = await done('openHandOver', { transferId, reason }, receiver);
    // The policy of the moment decides, not that of the opening.
    const set = (effect: 'warn' | 'block') =>
      world.db.clubPolicy.update({ where: { clubId_check: policy }, data: { effect } });
    await set('block');
    expect(ruleOf(await send('confirmHandOver', { transferId, code, items }, giver))).toBe('HAND_OVER_NOT_READY');
    await set('warn');
    expect((await done('confirmHandOver', { transferId, code, items }, giver)).transfer.state).toBe('received');

    const entries = await world.db.ledgerEntry.findMany({
      where: { subjects: { has: transferId }, action: { in: ['transfer.hand-over-opened', 'transfer.sent'] } },
      include: { commitments: true },
      orderBy: { id: 'asc' },
    });
    // The words are the giver's, with the giver's own entry; the owner who takes it home wrote that it was sent.
    const kept = entries.map(({ actorId, commitments }) => [
      actorId,
      commitments.map(({ path, value }) => [path, value]),
    ]);
    expect(kept).toEqual([
      [receiver.accountId, [['reason', reason]]],
      [giver.accountId, []],
    ]);
    expect(JSON.parse(entries[1]?.body ?? '{}')).toMatchObject({
      warnings: [{ check: 'quarantine', subjectId: animalId }],
    });
    expect(JSON.stringify(entries.map(({ body }) => body))).not.toContain(reason);
  });

  it('a reason given once does not outlive its code', async () => {
    const { transferId, animalId, confirm } = await offered(giver, receiver);
    const clubId = await world.club(giver, receiver);
    await world.db.clubPolicy.create({ data: { clubId, check: 'quarantine', effect: 'warn' } });
    await done('openHandOver', { transferId, reason: 'For the code before.' }, giver);
    const { code = '' } = await done('openHandOver', { transferId }, giver);
    await test.get(
      `mutation ($input: OpenQuarantineInput!) { openQuarantine(input: $input) { quarantine { id } } }`,
      {
        input: {
          keeperId: giver.keeperId,
          animalIds: [animalId],
          enteredOn: new Date().toISOString().slice(0, 10),
          days: 60,
        },
      },
      giver.token,
    );
    expect(ruleOf(await send('confirmHandOver', confirm(code), receiver))).toBe('HAND_OVER_NOT_READY');
  });

  it('two confirmations at once are one receipt', async () => {
    const { transferId, animalId, confirm } = await offered(giver, receiver);
    const { code = '' } = await done('openHandOver', { transferId }, giver);
    const both = [1, 2].map(() => send('confirmHandOver', confirm(code), receiver));
    const rules = (await Promise.all(both)).map(ruleOf);
    // `undefined` is the one that was done; it sorts last.
    expect(rules.toSorted()).toEqual(['HAND_OVER_CODE_USED', undefined]);
    const received = await world.db.custody.count({
      where: { animalId, keeperId: receiver.keeperId, supersededAt: null },
    });
    expect(received).toBe(1);
  });
});
