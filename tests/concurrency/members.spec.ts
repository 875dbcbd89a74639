import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { type Viewer } from '../../libs/kernel/index.js';
import { ChangeMembers } from '../../libs/membership/app/change-members.js';
import { holdRow, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let members: ChangeMembers;
beforeAll(async () => {
  w = await transferWorld();
  members = new ChangeMembers(w.uow);
});
afterAll(() => w.close());

/** A keeper with two owners, as each of them acts. */
async function twoOwners(): Promise<{ keeperId: string; one: Viewer; two: Viewer }> {
  const { keeperId, viewer: one } = await w.party('A house');
  const { viewer } = await w.party('The other owner');
  const two: Viewer = { ...viewer, keepers: [{ keeperId, role: 'owner' }] };
  await w.client.keeperMember.createMany({
    data: [one, two].map(({ accountId }) => ({ keeperId, accountId, role: 'owner' as const, since: new Date() })),
  });
  return { keeperId, one, two };
}

const leave = (viewer: Viewer, keeperId: string, accountId = viewer.accountId) =>
  members.execute({ ...viewer, requestId: uuid() }, { keeperId, accountId, role: null });

/** Lets two changes go at once from behind one lock; gives what became of each, and who is left. */
async function atOnce(keeperId: string, ...changes: (() => Promise<unknown>)[]) {
  const barrier = await holdRow(w.url, 'keeper', keeperId);
  const all = Promise.allSettled(changes.map((change) => change()));
  await barrier.releaseWhenWaiting(changes.length);
  const outcomes = (await all).map((one) => {
    if (one.status === 'fulfilled') return 'done';
    const { rule, code } = one.reason as { rule?: string; code?: string };
    return rule ?? code ?? String(one.reason);
  });
  const left = await w.client.keeperMember.findMany({ where: { keeperId, endedAt: null } });
  const entries = await w.client.ledgerEntry.count({ where: { subjects: { has: keeperId } } });
  return { outcomes: outcomes.sort(), left: left.map(({ role }) => role), entries };
}

describe('owners of a keeper, at once', () => {
  it('both leave: one does, the other is the last owner and stays', async () => {
    const { keeperId, one, two } = await twoOwners();
    expect(
      await atOnce(
        keeperId,
        () => leave(one, keeperId),
        () => leave(two, keeperId),
      ),
    ).toEqual({ outcomes: ['LAST_OWNER', 'done'], left: ['owner'], entries: 1 });
  });

  it('one leaves twice: once is enough', async () => {
    const { keeperId, one } = await twoOwners();
    expect(
      await atOnce(
        keeperId,
        () => leave(one, keeperId),
        () => leave(one, keeperId),
      ),
    ).toEqual({ outcomes: ['NOT_FOUND', 'done'], left: ['owner'], entries: 1 });
  });

  it('the last owner leaves twice: refused both times', async () => {
    const { keeperId, one, two } = await twoOwners();
    await leave(two, keeperId);
    expect(
      await atOnce(
        keeperId,
        () => leave(one, keeperId),
        () => leave(one, keeperId),
      ),
    ).toEqual({ outcomes: ['LAST_OWNER', 'LAST_OWNER'], left: ['owner'], entries: 1 });
  });

  it('each ends the other: one of them is left, and acts for the keeper', async () => {
    const { keeperId, one, two } = await twoOwners();
    expect(
      await atOnce(
        keeperId,
        () => leave(one, keeperId, two.accountId),
        () => leave(two, keeperId, one.accountId),
      ),
    ).toEqual({ outcomes: ['NOT_FOUND', 'done'], left: ['owner'], entries: 1 });
  });

  it('one makes the other a helper while that one leaves: an owner remains', async () => {
    const { keeperId, one, two } = await twoOwners();
    const demote = () => members.execute(one, { keeperId, accountId: two.accountId, role: 'helper' });
    const { outcomes, left } = await atOnce(keeperId, demote, () => leave(two, keeperId));
    expect(outcomes).toContain('done');
    expect(left).toContain('owner');
  });
});
