import { type TestKeeper } from './registry-world.js';
import { type TestApp } from './test-app.js';

/** A step of a transfer that is not refused. Gives its id. */
export async function transferStep(app: TestApp, name: string, input: object, who: TestKeeper): Promise<string> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const query = `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { id } } }`;
  const { data, errors } = await app.ask<Record<string, { transfer: { id: string } }>>(query, { input }, who.token);
  const id = data?.[name]?.transfer.id;
  if (errors !== undefined || id === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
  return id;
}

/** Offered, accepted, sent and received on one day, through the API; a gift unless the offer says otherwise. Gives its id. */
export async function handOver(
  app: TestApp,
  [from, to]: readonly [TestKeeper, TestKeeper],
  on: string,
  offer: object,
  arrival: object,
): Promise<string> {
  app.setDay(on);
  const input = { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, kind: 'gift', items: [], ...offer };
  const transferId = await transferStep(app, 'offerTransfer', input, from);
  await transferStep(app, 'acceptTransfer', { transferId }, to);
  await transferStep(app, 'sendTransfer', { transferId, sentOn: on, reason: 'As agreed.' }, from);
  await transferStep(app, 'receiveTransfer', { transferId, receivedOn: on, items: [], ...arrival }, to);
  return transferId;
}
