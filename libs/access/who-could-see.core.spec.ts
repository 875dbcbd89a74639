import { describe, expect, it } from '@jest/globals';
import { day } from '../kernel/index.js';
import { type Audience } from './access-level.core.js';
import { mayAskAbout, type RelationPeriod, type SightHistory, whoCouldSee } from './who-could-see.core.js';

const at = (text: string): Date => new Date(`${text}:00Z`);
const OPENED = at('2026-01-01T08:00');

const period = (
  accessId: string,
  keeperId: string,
  relation: RelationPeriod['relation'],
  from: string,
  to: string | null,
): RelationPeriod => ({ accessId, keeperId, relation, from: day(from), to: to === null ? null : day(to) });

const setting = (
  keeperId: string,
  holdings: Audience | null,
  more: Partial<SightHistory['settings'][number]> = {},
) => ({
  keeperId,
  collectionId: null,
  accessId: null,
  choice: { holdings, lineageWithheld: false },
  from: OPENED,
  to: null,
  ...more,
});

const history = (more: Partial<SightHistory>): SightHistory => ({
  relations: [
    period('a1', 'first', 'holder', '2026-02-01', '2026-03-01'),
    period('a2', 'second', 'holder', '2026-03-01', null),
  ],
  settings: [setting('first', 'nobody'), setting('second', 'club')],
  collectionStays: [],
  memberships: [
    { clubId: 'club', keeperId: 'first', joinedOn: day('2026-01-01'), leftOn: null },
    { clubId: 'club', keeperId: 'second', joinedOn: day('2026-03-10'), leftOn: day('2026-05-01') },
  ],
  offices: [{ clubId: 'club', keeperId: 'second', from: day('2026-04-01'), to: null }],
  threads: [],
  ...more,
});

const BOTH = ['first', 'second'];

const ways = (from: SightHistory, on: string, asker = BOTH): string[] =>
  whoCouldSee(from, day(on), new Set(asker)).map(({ way, keeperId, clubId, since, until }) =>
    [way, keeperId ?? clubId, since, until ?? 'now'].join(' '),
  );

describe('who could see an animal', () => {
  it('follows custody, membership and office day by day, the day of a change counting for both sides', () => {
    expect(ways(history({}), '2026-02-10')).toEqual([
      'has_it first 2026-02-01 2026-03-01',
      'club_lineage club 2026-02-01 2026-03-01',
    ]);
    expect(ways(history({}), '2026-03-01')).toEqual([
      'has_it first 2026-02-01 2026-03-01',
      'has_it second 2026-03-01 now',
      'had_it first 2026-03-01 now',
      'club_lineage club 2026-02-01 2026-03-01',
    ]);
    expect(ways(history({}), '2026-04-15')).toEqual([
      'has_it second 2026-03-01 now',
      'had_it first 2026-03-01 now',
      'club_lineage club 2026-03-10 2026-05-01',
      'club_holding club 2026-03-10 2026-05-01',
      'coordinator_count club 2026-04-01 2026-05-01',
    ]);
    expect(ways(history({}), '2026-05-02')).toEqual(['has_it second 2026-03-01 now', 'had_it first 2026-03-01 now']);
  });

  it('tells what was set then, each audience that held for a part of the day, and not what is set now', () => {
    const changed = history({
      settings: [
        setting('first', 'nobody'),
        setting('second', 'club', { to: at('2026-04-15T09:00') }),
        setting('second', 'nobody', { from: at('2026-04-15T09:00') }),
      ],
    });
    expect(ways(changed, '2026-04-14')).toContain('club_holding club 2026-03-10 2026-04-15');
    expect(ways(changed, '2026-04-15')).toContain('club_holding club 2026-03-10 2026-04-15');
    expect(ways(changed, '2026-04-16').join()).not.toContain('club_holding');
  });

  it('lets a collection and the animal go before what is set for everything, for as long as they held', () => {
    const parts = history({
      collectionStays: [
        { accessId: 'a2', collectionId: 'shed', from: at('2026-04-01T09:00'), to: at('2026-04-20T09:00') },
      ],
      settings: [
        setting('first', 'nobody'),
        setting('second', 'nobody'),
        setting('second', 'club', { collectionId: 'shed' }),
        setting('second', null, {
          accessId: 'a2',
          choice: { holdings: null, lineageWithheld: true },
          from: at('2026-04-10T09:00'),
        }),
      ],
    });
    expect(ways(parts, '2026-03-20').join()).not.toContain('club_holding');
    expect(ways(parts, '2026-04-05')).toContain('club_holding club 2026-04-01 2026-04-20');
    expect(ways(parts, '2026-04-05').join()).toContain('club_lineage');
    expect(ways(parts, '2026-04-11').join()).not.toContain('club_lineage');
    expect(ways(parts, '2026-04-21').join()).not.toContain('club_holding');
  });

  it('does not show through a share what its keeper withholds as holder', () => {
    const owned = history({
      relations: [
        period('a2', 'second', 'holder', '2026-03-01', null),
        period('a3', 'second', 'owner', '2026-03-01', null),
      ],
      settings: [
        setting('second', 'nobody'),
        setting('second', null, { accessId: 'a2', choice: { holdings: null, lineageWithheld: true } }),
      ],
    });
    expect(ways(owned, '2026-04-15')).toEqual(['has_it second 2026-03-01 now', 'owns_it second 2026-03-01 now']);
  });

  it('names offers, guests, and the asker who was shown the name, while that lasted', () => {
    const dealt = history({
      relations: [
        period('a2', 'second', 'holder', '2026-03-01', null),
        period('a4', 'buyer', 'receiver', '2026-04-01', '2026-04-05'),
        period('a5', 'vet', 'guest', '2026-04-03', '2026-04-04'),
      ],
      settings: [setting('second', 'other_party')],
      threads: [
        { keeperId: 'asker', holderKeeperId: 'second', from: at('2026-04-02T10:00'), to: at('2026-04-04T10:00') },
      ],
    });
    const parties = ['offered buyer 2026-04-01 2026-04-05', 'guest vet 2026-04-03 2026-04-04'];
    expect(ways(dealt, '2026-04-03')).toEqual(
      expect.arrayContaining([...parties, 'thread_holding asker 2026-04-02 2026-04-04']),
    );
    expect(ways(dealt, '2026-04-06').join()).not.toMatch(/offered|guest|thread/);
  });

  it('tells who had it before or after, and nothing of what those showed or did with it', () => {
    const handed = history({
      relations: [
        period('a1', 'first', 'holder', '2026-02-01', '2026-03-01'),
        period('a2', 'second', 'holder', '2026-03-01', '2026-04-01'),
        period('a3', 'third', 'owner', '2026-01-15', '2026-05-01'),
        period('a4', 'vet', 'guest', '2026-02-10', '2026-03-01'),
        period('a5', 'buyer', 'receiver', '2026-03-01', '2026-03-01'),
      ],
      settings: [setting('first', 'club'), setting('second', 'club'), setting('third', 'nobody')],
      memberships: [
        { clubId: 'before', keeperId: 'first', joinedOn: day('2026-01-01'), leftOn: null },
        { clubId: 'after', keeperId: 'second', joinedOn: day('2026-01-01'), leftOn: null },
      ],
    });
    expect(ways(handed, '2026-03-01', ['first'])).toEqual([
      'has_it first 2026-02-01 2026-03-01',
      'has_it second 2026-03-01 now',
      'owns_it third 2026-01-15 now',
      'guest vet 2026-02-10 2026-03-01',
      'had_it first 2026-03-01 now',
      'club_lineage before 2026-02-01 2026-03-01',
      'club_holding before 2026-02-01 2026-03-01',
    ]);
    expect(ways(handed, '2026-03-01', ['second'])).toEqual([
      'has_it first 2026-02-01 2026-03-01',
      'has_it second 2026-03-01 2026-04-01',
      'owns_it third 2026-01-15 now',
      'had_it first 2026-03-01 now',
      'club_lineage after 2026-03-01 2026-04-01',
      'club_holding after 2026-03-01 2026-04-01',
    ]);
    expect(ways(handed, '2026-03-01', ['third']).join()).toMatch(/guest vet.*before.*after/s);
  });

  it('gives the days without a break: what was set anew to the same, and an office that goes on, break nothing', () => {
    const anew = history({
      settings: [
        setting('second', 'club', { to: at('2026-04-15T09:00') }),
        setting('second', 'club', { from: at('2026-04-15T09:00'), to: at('2026-04-20T09:00') }),
        setting('second', 'coordinator', { from: at('2026-04-20T09:00') }),
      ],
      offices: [
        { clubId: 'club', keeperId: 'second', from: day('2026-03-15'), to: day('2026-04-10') },
        { clubId: 'club', keeperId: 'second', from: day('2026-04-10'), to: null },
      ],
    });
    for (const on of ['2026-04-14', '2026-04-15', '2026-04-19'])
      expect(ways(anew, on)).toContain('club_holding club 2026-03-10 2026-04-20');
    for (const on of ['2026-04-09', '2026-04-10', '2026-04-25'])
      expect(ways(anew, on)).toEqual(
        expect.arrayContaining([
          'coordinator_count club 2026-03-15 2026-05-01',
          'club_lineage club 2026-03-10 2026-05-01',
        ]),
      );
  });

  it('begins anew after a day on which it could not be seen', () => {
    const broken = history({
      settings: [
        setting('second', 'club', { to: at('2026-04-01T09:00') }),
        setting('second', 'nobody', { from: at('2026-04-01T09:00'), to: at('2026-04-03T09:00') }),
        setting('second', 'club', { from: at('2026-04-03T09:00') }),
      ],
    });
    expect(ways(broken, '2026-03-20')).toContain('club_holding club 2026-03-10 2026-04-01');
    expect(ways(broken, '2026-04-02').join()).not.toContain('club_holding');
    expect(ways(broken, '2026-04-04')).toContain('club_holding club 2026-04-03 2026-05-01');
  });

  it('joins the stays of a keeper and of two who showed it alike, in the time of the asker alone', () => {
    const passed = history({
      relations: [
        period('a1', 'first', 'holder', '2026-02-01', '2026-02-10'),
        period('a2', 'first', 'holder', '2026-02-10', '2026-03-01'),
        period('a3', 'second', 'holder', '2026-03-01', null),
        period('a4', 'third', 'owner', '2026-02-05', null),
      ],
      settings: [setting('first', 'club'), setting('second', 'club')],
      memberships: ['first', 'second'].map((keeperId) => ({
        clubId: 'club',
        keeperId,
        joinedOn: day('2026-01-01'),
        leftOn: null,
      })),
    });
    expect(ways(passed, '2026-02-20', ['first'])).toContain('has_it first 2026-02-01 2026-03-01');
    expect(ways(passed, '2026-03-05', ['third'])).toContain('club_holding club 2026-02-05 now');
    expect(ways(passed, '2026-03-05', ['second'])).toContain('club_holding club 2026-03-01 now');
  });

  it('is for those to ask who had or owned it that day', () => {
    const { relations } = history({});
    const may = (keeper: string, on: string): boolean => mayAskAbout(relations, new Set([keeper]), day(on));
    expect([may('first', '2026-02-10'), may('first', '2026-03-01'), may('first', '2026-03-02')]).toEqual([
      true,
      true,
      false,
    ]);
    expect([may('second', '2026-02-28'), may('second', '2026-03-01')]).toEqual([false, true]);
    expect(
      mayAskAbout([period('g', 'vet', 'guest', '2026-02-01', '2026-04-01')], new Set(['vet']), day('2026-02-10')),
    ).toBe(false);
  });
});
