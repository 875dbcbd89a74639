import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { pdfText } from '../support/pdf-text.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

const PLAN = `paymentPlan { confirmed left paidUpOn awaited instalments { dueOn minor } payments { id minor state note answerNote } }`;
const TRANSFER = `transfer { id state title dueBack price { minor } items { share { parts of } titleDue } ${PLAN} }`;
const CLAIM = `claim { id statement share { parts of } proposal outcome
  parties { number isClaimant isYou recordedParts proposedParts agrees reply } }`;

type Plan = {
  confirmed: number;
  left: number;
  paidUpOn: string | null;
  awaited: boolean;
  payments: { id: string; state: string }[];
};
type Payload = {
  transfer: { id: string; price: { minor: number } | null; paymentPlan: Plan | null };
  claim: { id: string; proposal: number; outcome: string | null };
};

let test: TestApp;
let world: RegistryWorld;
let giver: TestKeeper;
let buyer: TestKeeper;
let helper: TestKeeper;
let stranger: TestKeeper;
let taxon: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  test.setDay('2026-06-01');
  [giver, buyer] = [await world.keeper('Haus Seller'), await world.keeper('Haus Buyer')];
  [helper, stranger] = [await world.keeper('A helper'), await world.keeper('A stranger')];
  const member = { keeperId: giver.keeperId, accountId: helper.accountId };
  await world.db.keeperMember.create({ data: { ...member, role: 'helper', since: new Date('2026-01-01') } });
  taxon = await world.taxon();
});
afterAll(async () => {
  await world.close();
  await test.close();
});

/** Sends a mutation; gives the answer as it came. */
function send(name: string, input: object, who: TestKeeper): Promise<Answer<Record<string, Payload>>> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const fields = /claim|shares/i.test(name) || name === 'claimOwnership' ? CLAIM : TRANSFER;
  return test.ask(`mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`, { input }, who.token);
}

async function done(name: string, input: object, who: TestKeeper): Promise<Payload> {
  const answer = await send(name, input, who);
  const payload = answer.data?.[name];
  if (answer.errors !== undefined || payload === undefined)
    throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
  return payload;
}

async function read(id: string, who: TestKeeper): Promise<Payload['transfer']> {
  return (
    await test.get<Payload>(
      `query ($id: ID!) { ${TRANSFER.replace('transfer', 'transfer(id: $id)')} }`,
      { id },
      who.token,
    )
  ).transfer;
}

/** A sale of an animal for 123.45 whose property waits for its price, received. */
async function sold(): Promise<{ animalId: string; transferId: string }> {
  const animalId = await world.animal(giver, taxon);
  const { transfer } = await done(
    'offerTransfer',
    {
      fromKeeperId: giver.keeperId,
      toKeeperId: buyer.keeperId,
      kind: 'sale',
      title: 'when_paid',
      price: { minor: 12_345, currency: 'EUR' },
      instalments: [
        { dueOn: '2026-07-01', minor: 12_000 },
        { dueOn: '2026-08-01', minor: 345 },
      ],
      items: [{ animalId }],
    },
    giver,
  );
  const transferId = transfer.id;
  await done('acceptTransfer', { transferId }, buyer);
  await done('sendTransfer', { transferId, sentOn: '2026-06-01' }, giver);
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  await done('receiveTransfer', { transferId, receivedOn: '2026-06-01', items }, buyer);
  return { animalId, transferId };
}

describe('property kept until paid, through the API', () => {
  it('payments are declared and answered, and with the last one property moves', async () => {
    const { transferId } = await sold();
    const declared = await done(
      'declarePayment',
      { transferId, minor: 12_000, paidOn: '2026-06-01', note: 'by bank' },
      buyer,
    );
    const first = declared.transfer.paymentPlan?.payments[0]?.id;
    expect(declared.transfer.paymentPlan).toMatchObject({ confirmed: 0, left: 12_345, awaited: true });
    await done('questionPayment', { paymentId: first, note: 'not there yet' }, giver);
    await done('confirmPayment', { paymentId: first }, giver);
    const rest = await done('declarePayment', { transferId, minor: 345, paidOn: '2026-06-01' }, buyer);
    const paid = await done('confirmPayment', { paymentId: rest.transfer.paymentPlan?.payments[1]?.id }, giver);
    expect(paid.transfer).toMatchObject({
      items: [{ titleDue: false }],
      paymentPlan: { confirmed: 12_345, left: 0, paidUpOn: '2026-06-01', awaited: false },
    });
  });

  it('instalments that do not sum to the price are refused by field, with the difference', async () => {
    const animalId = await world.animal(giver, taxon);
    const answer = await send(
      'offerTransfer',
      {
        fromKeeperId: giver.keeperId,
        toKeeperId: buyer.keeperId,
        kind: 'sale',
        title: 'when_paid',
        price: { minor: 1_000, currency: 'EUR' },
        instalments: [{ dueOn: '2026-07-01', minor: 999 }],
        items: [{ animalId }],
      },
      giver,
    );
    expect(answer.errors?.[0]?.extensions).toMatchObject({
      rule: 'INSTALMENTS_DO_NOT_SUM',
      fields: [{ path: 'input.instalments' }],
    });
    expect(answer.errors?.[0]?.message).toContain('1 too little');
  });

  it('a helper sees the transfer and nothing of the price: not here, not on paper, not in the export, and answers no payment', async () => {
    const { transferId } = await sold();
    const { transfer } = await done('declarePayment', { transferId, minor: 12_000, paidOn: '2026-06-01' }, buyer);
    const paymentId = transfer.paymentPlan?.payments[0]?.id;
    expect((await read(transferId, giver)).paymentPlan?.payments).toHaveLength(1);
    expect(await read(transferId, helper)).toMatchObject({ id: transferId, price: null, paymentPlan: null });
    expect((await send('confirmPayment', { paymentId }, helper)).errors?.[0]?.extensions).toMatchObject({
      code: 'FORBIDDEN',
    });
    const paper = await test
      .http()
      .get(`/transfers/${transferId}/record.pdf`)
      .set('authorization', `Bearer ${helper.token}`)
      .buffer(true)
      .parse((response, callback) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('end', () => callback(null, Buffer.concat(chunks)));
      });
    expect(paper.status).toBe(200);
    const text = await pdfText(paper.body as Buffer);
    expect(text).toContain('Tortoise');
    expect(text).not.toMatch(/12[.,]?345|123[.,]45|12[.,]?000|120[.,]00|EUR/);
    const notices = await world.db.notice.findMany({ where: { keeperId: giver.keeperId } });
    expect(JSON.stringify(notices)).not.toMatch(/[:"](12345|12000)\b/);
    const wish = 'query ($k: ID!) { exportMyData(keeperId: $k) { fileName } }';
    const out = await test.ask(wish, { k: giver.keeperId }, helper.token);
    expect(out.errors?.[0]?.extensions).toMatchObject({ code: 'FORBIDDEN' });
    await test.get(wish, { k: giver.keeperId }, giver.token);
  });

  it('a stranger finds neither the transfer nor its payments', async () => {
    const { transferId } = await sold();
    const { transfer } = await done('declarePayment', { transferId, minor: 1, paidOn: '2026-06-01' }, buyer);
    const paymentId = transfer.paymentPlan?.payments[0]?.id;
    for (const attempt of [
      await send('confirmPayment', { paymentId }, stranger),
      await send('questionPayment', { paymentId }, stranger),
      await send('declarePayment', { transferId, minor: 1, paidOn: '2026-06-01' }, stranger),
    ])
      expect(attempt.errors?.[0]?.extensions).toMatchObject({ code: 'NOT_FOUND' });
  });
});

describe('two claims on one animal, through the API', () => {
  it('both state their side, agree on shares, and the record says so; a stranger sees nothing of it', async () => {
    const { animalId } = await sold();
    const share = { parts: 1, of: 1 };
    const { claim } = await done(
      'claimOwnership',
      { keeperId: buyer.keeperId, animalId, statement: 'It is paid.', share, since: '2026-06-01' },
      buyer,
    );
    const claimId = claim.id;
    const replied = await done('replyToClaim', { claimId, statement: 'Not all of it.' }, giver);
    expect(replied.claim).toMatchObject({
      statement: 'It is paid.',
      parties: [
        { isClaimant: true, isYou: false, recordedParts: 0 },
        { isClaimant: false, isYou: true, recordedParts: 1, reply: 'Not all of it.' },
      ],
    });
    const shares = [
      { party: 1, parts: 1 },
      { party: 2, parts: 1 },
    ];
    const { proposal } = (await done('proposeShares', { claimId, shares }, giver)).claim;
    const settled = await done('agreeToShares', { claimId, proposal }, buyer);
    expect(settled.claim).toMatchObject({ outcome: 'settled', parties: [{ agrees: true }, { agrees: true }] });
    const list = `query { ownershipClaims(first: 10) { edges { node { id } } } }`;
    const listOf = async (who: TestKeeper) =>
      (await test.get<{ ownershipClaims: { edges: { node: { id: string } }[] } }>(list, {}, who.token)).ownershipClaims
        .edges;
    expect((await listOf(buyer)).map(({ node }) => node.id)).toEqual([claimId]);
    expect(await listOf(stranger)).toEqual([]);
    expect(await listOf(helper)).toEqual([]);
    expect((await send('withdrawClaim', { claimId }, buyer)).errors?.[0]?.extensions).toMatchObject({
      rule: 'CLAIM_ENDED',
    });
  });
});
