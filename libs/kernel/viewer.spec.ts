import { describe, expect, it } from '@jest/globals';
import { actsFor, holdsOffice, type Office, owns, type Viewer } from './viewer.js';

const viewer: Viewer = {
  accountId: 'account',
  keepers: [
    { keeperId: 'own', role: 'owner' },
    { keeperId: 'helped', role: 'helper' },
  ],
  clubIds: [],
  offices: [],
  requestId: 'request',
};

describe('viewer', () => {
  it('acts for each of its keepers, and for nobody else', () => {
    expect(['own', 'helped', 'other', null].map((id) => actsFor(viewer, id))).toEqual([true, true, false, false]);
  });

  it('owns only where it is owner', () => {
    expect(['own', 'helped', 'other', null].map((id) => owns(viewer, id))).toEqual([true, false, false, false]);
  });

  it('holds an office for what it covers, and for no more', () => {
    const scopes = ['club', 'other'].flatMap((clubId) =>
      ['XA-NO', 'XA-SO', null].flatMap((region) =>
        ['frog', 'newt', null].map((taxonId): Office => ({ clubId, region, taxonId })),
      ),
    );
    const covered = (...offices: Office[]): string[] =>
      scopes
        .filter((scope) => holdsOffice({ ...viewer, offices }, scope))
        .map(({ clubId, region, taxonId }) => `${clubId} ${region} ${taxonId}`);
    expect(covered()).toEqual([]);
    expect(covered({ clubId: 'club', region: 'XA-NO', taxonId: 'frog' })).toEqual(['club XA-NO frog']);
    expect(covered({ clubId: 'club', region: 'XA-NO', taxonId: null })).toEqual([
      'club XA-NO frog',
      'club XA-NO newt',
      'club XA-NO null',
    ]);
    expect(covered({ clubId: 'club', region: null, taxonId: 'frog' })).toEqual([
      'club XA-NO frog',
      'club XA-SO frog',
      'club null frog',
    ]);
    expect(covered({ clubId: 'club', region: null, taxonId: null })).toHaveLength(9);
    // Two offices are not added up to one that covers more than each.
    expect(
      covered(
        { clubId: 'club', region: 'XA-NO', taxonId: 'frog' },
        { clubId: 'club', region: 'XA-NO', taxonId: 'newt' },
      ),
    ).toEqual(['club XA-NO frog', 'club XA-NO newt']);
  });
});
