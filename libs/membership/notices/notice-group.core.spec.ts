import { describe, expect, it } from '@jest/globals';
import { allChoices, NOTICE_GROUPS, noticeGroup, paceOf } from './notice-group.core.js';

describe('what an account chose', () => {
  it('holds for every kind of its group and for no other', () => {
    const chosen = new Map([
      ['transfers', 'none'],
      ['health', 'daily'],
    ] as const);
    expect(paceOf('transfer_offered', chosen)).toBe('none');
    expect(paceOf('offer_expired', chosen)).toBe('none');
    expect(paceOf('quarantine_ends', chosen)).toBe('daily');
    expect(paceOf('document_expiry', chosen)).toBe('at_once');
  });

  it('does not hold back word that an animal one has is said to be stolen', () => {
    const none = new Map(NOTICE_GROUPS.map((group) => [group, 'none'] as const));
    expect(noticeGroup('theft_reported')).toBeNull();
    expect(paceOf('theft_reported', none)).toBe('at_once');
    expect(paceOf('theft_replied', none)).toBe('none');
  });

  it('a kind made later belongs to the others', () => {
    expect(noticeGroup('a kind made later')).toBe('other');
    expect(paceOf('a kind made later', new Map([['other', 'daily']]))).toBe('daily');
  });

  it('is at once where nothing was chosen', () => {
    expect(allChoices(new Map([['marks', 'daily']])).filter(({ pace }) => pace !== 'at_once')).toEqual([
      { group: 'marks', pace: 'daily' },
    ]);
    expect(allChoices(new Map())).toHaveLength(NOTICE_GROUPS.length);
  });
});
