import { describe, expect, it } from '@jest/globals';
import { actsFor, owns, type Viewer } from './viewer.js';

const viewer: Viewer = {
  accountId: 'account',
  keepers: [
    { keeperId: 'own', role: 'owner' },
    { keeperId: 'helped', role: 'helper' },
  ],
  clubIds: [],
  requestId: 'request',
};

describe('viewer', () => {
  it('acts for each of its keepers, and for nobody else', () => {
    expect(['own', 'helped', 'other', null].map((id) => actsFor(viewer, id))).toEqual([true, true, false, false]);
  });

  it('owns only where it is owner', () => {
    expect(['own', 'helped', 'other', null].map((id) => owns(viewer, id))).toEqual([true, false, false, false]);
  });
});
