import { describe, expect, it } from '@jest/globals';
import { day, type Viewer } from '../../kernel/index.js';
import { maySee, maySeePrice, mayStep, viewerCan } from './policy.core.js';
import { GIVER, offered, RECEIVER, sent } from './transfer-fixtures.js';
import { type Step, STEPS } from './transitions.core.js';

function viewer(...keeperIds: string[]): Viewer {
  const keepers = keeperIds.map((keeperId) => ({ keeperId, role: 'helper' as const }));
  return { accountId: 'account', keepers, clubIds: ['club'], offices: [], requestId: 'r' };
}

const allowed = (who: Viewer, transfer = offered()): Step[] => STEPS.filter((step) => mayStep(who, step, transfer));

describe('who may do what with a transfer', () => {
  it('given a transfer between keepers, each side has its own steps, whatever the role', () => {
    expect(allowed(viewer(GIVER))).toEqual(['withdraw', 'send', 'cancel', 'leaveOut', 'fail']);
    expect(allowed(viewer(RECEIVER))).toEqual(['accept', 'decline', 'cancel', 'receive', 'fail']);
  });

  it('given somebody acting for both sides, all steps but the registry’s own', () => {
    expect(allowed(viewer(GIVER, RECEIVER))).toHaveLength(STEPS.length - 1);
  });

  it('the price is for owners of the two keepers, not for their helpers', () => {
    const owner = (keeperId: string): Viewer => ({ ...viewer(), keepers: [{ keeperId, role: 'owner' }] });
    expect([GIVER, RECEIVER, 'third'].map((id) => maySeePrice(owner(id), offered()))).toEqual([true, true, false]);
    expect([GIVER, RECEIVER].map((id) => maySeePrice(viewer(id), offered()))).toEqual([false, false]);
  });

  it('given a third keeper, even of the same club, it does not exist', () => {
    expect(maySee(viewer('third'), offered())).toBe(false);
    expect(allowed(viewer('third'))).toEqual([]);
  });

  it('given an outside party, the giver records its steps too; nobody else may', () => {
    const outside = { ...offered(), receiver: { kind: 'outside_party' as const, outsidePartyId: 'party' } };
    expect(allowed(viewer(GIVER), outside)).toHaveLength(STEPS.length - 1);
    expect(maySee(viewer('party'), outside)).toBe(false);
  });

  it('shows as possible only what is allowed and fits the state', () => {
    expect(viewerCan(viewer(GIVER), offered())).toEqual({
      accept: false,
      send: false,
      receive: false,
      decline: false,
      withdraw: true,
      cancel: false,
      fail: false,
      leaveOut: false,
      expire: false,
      openHandOver: true,
      confirmHandOver: false,
      countersign: false,
      withdrawCountersignature: false,
    });
    expect(viewerCan(viewer(RECEIVER), sent())).toMatchObject({ receive: true, decline: false, accept: false });
    expect(viewerCan(viewer(RECEIVER), offered())).toMatchObject({ openHandOver: false, confirmHandOver: true });
    expect(viewerCan(viewer(RECEIVER), sent())).toMatchObject({ confirmHandOver: false });
  });

  it('shows countersigning to the guardian of a side that awaits it, until it has signed or the animals are sent', () => {
    const guardian = (keeperId: string): Viewer => ({ ...viewer(), keepers: [{ keeperId, role: 'guardian' }] });
    const awaits = { side: 'receiver' as const, minorUntil: day('2031-01-05') };
    const open = { ...offered(), countersigning: [{ ...awaits, signed: false }] };
    const signed = { ...offered(), countersigning: [{ ...awaits, signed: true }] };
    expect(viewerCan(guardian(RECEIVER), open).countersign).toBe(true);
    expect(viewerCan(guardian(RECEIVER), signed).countersign).toBe(false);
    for (const who of [guardian(GIVER), viewer(RECEIVER)]) expect(viewerCan(who, open).countersign).toBe(false);
    expect(viewerCan(guardian(RECEIVER), { ...sent(), countersigning: open.countersigning }).countersign).toBe(false);
    expect(viewerCan(guardian(RECEIVER), signed).withdrawCountersignature).toBe(true);
    expect(viewerCan(guardian(RECEIVER), open).withdrawCountersignature).toBe(false);
    expect(viewerCan(guardian(GIVER), signed).withdrawCountersignature).toBe(false);
    const late = { ...sent(), countersigning: signed.countersigning };
    expect(viewerCan(guardian(RECEIVER), late).withdrawCountersignature).toBe(false);
  });
});
