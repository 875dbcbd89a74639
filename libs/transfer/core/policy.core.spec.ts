import { describe, expect, it } from '@jest/globals';
import { type Viewer } from '../../kernel/index.js';
import { maySee, mayStep, viewerCan } from './policy.core.js';
import { GIVER, offered, RECEIVER, sent } from './transfer-fixtures.js';
import { type Step } from './transitions.core.js';

function viewer(...keeperIds: string[]): Viewer {
  const keepers = keeperIds.map((keeperId) => ({ keeperId, role: 'helper' as const }));
  return { accountId: 'account', keepers, clubIds: ['club'], offices: [], requestId: 'r' };
}

const allowed = (who: Viewer, transfer = offered()): Step[] =>
  (['accept', 'send', 'receive', 'decline', 'withdraw'] as const).filter((step) => mayStep(who, step, transfer));

describe('who may do what with a transfer', () => {
  it('given a transfer between keepers, each side has its own steps, whatever the role', () => {
    expect(allowed(viewer(GIVER))).toEqual(['send', 'withdraw']);
    expect(allowed(viewer(RECEIVER))).toEqual(['accept', 'receive', 'decline']);
  });

  it('given somebody acting for both sides, all steps', () => {
    expect(allowed(viewer(GIVER, RECEIVER))).toHaveLength(5);
  });

  it('given a third keeper, even of the same club, it does not exist', () => {
    expect(maySee(viewer('third'), offered())).toBe(false);
    expect(allowed(viewer('third'))).toEqual([]);
  });

  it('given an outside party, the giver records its steps too; nobody else may', () => {
    const outside = { ...offered(), receiver: { kind: 'outside_party' as const, outsidePartyId: 'party' } };
    expect(allowed(viewer(GIVER), outside)).toHaveLength(5);
    expect(maySee(viewer('party'), outside)).toBe(false);
  });

  it('shows as possible only what is allowed and fits the state', () => {
    expect(viewerCan(viewer(GIVER), offered())).toEqual({
      accept: false,
      send: false,
      receive: false,
      decline: false,
      withdraw: true,
    });
    expect(viewerCan(viewer(RECEIVER), sent())).toMatchObject({ receive: true, decline: false, accept: false });
  });
});
