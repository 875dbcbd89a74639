import { addDays, type Day } from '../kernel/index.js';
import { type AccessFact, type Audience, resolveSharing, type SharingChoice } from './access-level.core.js';

/**
 * A way in which somebody could see an animal: as its holder, its owner, the receiver of an open offer, a guest, or one who had
 * it; a club that was shown its lineage, or who has it; the coordinators of a club who counted it in their region; the asker of
 * a thread to whom the holder showed the names.
 */
export const WAYS = [
  'has_it',
  'owns_it',
  'offered',
  'guest',
  'had_it',
  'club_lineage',
  'club_holding',
  'coordinator_count',
  'thread_holding',
] as const;
export type Way = (typeof WAYS)[number];

/** One answer: who, by which way, and over which days it went on like that around the day asked about; `until` is the first day without it. */
export type Sight = {
  readonly way: Way;
  readonly keeperId: string | null;
  readonly clubId: string | null;
  readonly since: Day;
  readonly until: Day | null;
};

/** A relation to the animal over half-open days. */
export type RelationPeriod = {
  readonly accessId: string;
  readonly keeperId: string;
  readonly relation: AccessFact['relation'];
  readonly from: Day;
  readonly to: Day | null;
};

/** What a keeper set, from when until when: for everything it has, for a collection, or for an animal it had by an access row. */
export type SettingPeriod = {
  readonly keeperId: string;
  readonly collectionId: string | null;
  readonly accessId: string | null;
  readonly choice: SharingChoice;
  readonly from: Date;
  readonly to: Date | null;
};

/** Everything the answer is worked out from: histories, nothing of today. */
export type SightHistory = {
  readonly relations: readonly RelationPeriod[];
  readonly settings: readonly SettingPeriod[];
  readonly collectionStays: readonly {
    readonly accessId: string;
    readonly collectionId: string;
    readonly from: Date;
    readonly to: Date | null;
  }[];
  readonly memberships: readonly {
    readonly clubId: string;
    readonly keeperId: string;
    readonly joinedOn: Day;
    readonly leftOn: Day | null;
  }[];
  /** Clubs in which an office over the holder's region was held; its first day and the first day without it. */
  readonly offices: readonly {
    readonly clubId: string;
    readonly keeperId: string;
    readonly from: Day;
    readonly to: Day | null;
  }[];
  /** Threads about the animal from when the names were shown until they were closed. */
  readonly threads: readonly {
    readonly keeperId: string;
    readonly holderKeeperId: string;
    readonly from: Date;
    readonly to: Date | null;
  }[];
};

type Days = { readonly from: Day; readonly to: Day | null };

/** Of those who never had the animal. */
const NO_DAY = '0001-01-01' as Day;

/**
 * Who could see an animal at some time of a day, as one of the asker's keepers that had or owned it that day may know. A day on
 * which something ended counts with it: until that moment it was seen. What a keeper showed follows from what it had set at each
 * moment of the day, not from what it sets now. Of those who had it before the asker or after, on the same day, only that they had
 * it is told; and nothing that ended after the asker's time is known to have ended.
 */
export function whoCouldSee(history: SightHistory, on: Day, asker: ReadonlySet<string>): Sight[] {
  const sights: Sight[] = [];
  const time = timeOf(history.relations, asker);
  for (const relation of history.relations) {
    const had = hadIt(relation);
    const within = asker.has(relation.keeperId) || meets(relation, time);
    if (touches(relation, on) && (had || within)) {
      sights.push(ownSight(relation));
      if (had && within) sights.push(...shownBy(history, relation, on));
    }
    if (had && relation.to !== null && relation.to <= on)
      sights.push({ way: 'had_it', keeperId: relation.keeperId, clubId: null, since: relation.to, until: null });
  }
  return distinct(sights).map((each) =>
    time.to !== null && each.until !== null && each.until > time.to ? { ...each, until: null } : each,
  );
}

function hadIt({ relation }: RelationPeriod): boolean {
  return relation === 'holder' || relation === 'owner';
}

/** From the first day on which one of these keepers had or owned the animal to the first without it; open while one does. */
function timeOf(relations: readonly RelationPeriod[], keeperIds: ReadonlySet<string>): Days {
  const own = relations.filter((period) => hadIt(period) && keeperIds.has(period.keeperId));
  const [from = NO_DAY] = own.map((period) => period.from).toSorted();
  const to = own.some((period) => period.to === null)
    ? null
    : (own
        .flatMap((period) => period.to ?? [])
        .toSorted()
        .at(-1) ?? NO_DAY);
  return { from, to };
}

/** Whether some day belongs to both; the day on which one ends is the other's. */
function meets(a: Days, b: Days): boolean {
  return (b.to === null || a.from < b.to) && (a.to === null || a.to > b.from);
}

/** Whether one of these keepers had or owned the animal at some time of a day, and so may ask about it. */
export function mayAskAbout(relations: readonly RelationPeriod[], keeperIds: ReadonlySet<string>, on: Day): boolean {
  return relations.some((period) => hadIt(period) && keeperIds.has(period.keeperId) && touches(period, on));
}

const WAY_OF: Readonly<Record<AccessFact['relation'], Way>> = {
  holder: 'has_it',
  owner: 'owns_it',
  receiver: 'offered',
  guest: 'guest',
};

function ownSight({ relation, keeperId, from, to }: RelationPeriod): Sight {
  return { way: WAY_OF[relation], keeperId, clubId: null, since: from, until: to };
}

/** What the keeper behind a relation showed to others on a day. */
function shownBy(history: SightHistory, relation: RelationPeriod, on: Day): Sight[] {
  return sharingOn(history, relation, on).flatMap(({ holdings, lineageShared, days }) => {
    const within = overlap(relation, days);
    const clubs = history.memberships
      .filter((each) => each.keeperId === relation.keeperId)
      .map((each) => ({ clubId: each.clubId, from: each.joinedOn, to: each.leftOn }))
      .filter((each) => touches(each, on));
    const toClubs = (way: Way): Sight[] =>
      clubs.map((club) => sight(way, { keeperId: null, clubId: club.clubId }, overlap(within, club)));
    const lineage = lineageShared ? toClubs('club_lineage') : [];
    if (relation.relation !== 'holder' || holdings === 'nobody') return lineage;
    const counted = history.offices.filter((each) => each.keeperId === relation.keeperId && touches(each, on));
    const told = history.threads
      .filter((each) => each.holderKeeperId === relation.keeperId)
      .map((each) => ({ keeperId: each.keeperId, ...daysOf(each) }))
      .filter((each) => touches(each, on));
    return [
      ...lineage,
      ...(holdings === 'club' ? toClubs('club_holding') : []),
      ...(holdings === 'club' || holdings === 'coordinator'
        ? counted.flatMap((office) =>
            clubs
              .filter((club) => club.clubId === office.clubId)
              .map((club) =>
                sight(
                  'coordinator_count',
                  { keeperId: null, clubId: club.clubId },
                  overlap(overlap(within, club), office),
                ),
              ),
          )
        : []),
      ...told.map((thread) =>
        sight('thread_holding', { keeperId: thread.keeperId, clubId: null }, overlap(within, thread)),
      ),
    ];
  });
}

type Sharing = { readonly holdings: Audience; readonly lineageShared: boolean; readonly days: Days };

/**
 * Every way in which sharing stood at some moment of a day, with the days around it on which it stood like that. What a keeper
 * withholds as holder or as owner it withholds; who sees that it has the animal follows from the stay alone.
 */
function sharingOn(history: SightHistory, relation: RelationPeriod, on: Day): Sharing[] {
  const [start, end] = [new Date(`${on}T00:00:00Z`), new Date(`${addDays(on, 1)}T00:00:00Z`)];
  const relations = history.relations.filter((each) => each.keeperId === relation.keeperId && touches(each, on));
  const ofKeeper = new Set(relations.map((each) => each.accessId));
  const stays = history.collectionStays.filter((each) => ofKeeper.has(each.accessId));
  const settings = history.settings.filter(
    (each) => each.keeperId === relation.keeperId && (each.accessId === null || ofKeeper.has(each.accessId)),
  );
  const changes = [...stays, ...settings].flatMap(({ from, to }) => (to === null ? [from] : [from, to]));
  const moments = new Set(
    [start, ...changes].filter((moment) => moment >= start && moment < end).map((moment) => moment.getTime()),
  );
  return [...moments]
    .toSorted((a, b) => a - b)
    .flatMap((time) => {
      const at = new Date(time);
      const inForce = <T extends { from: Date; to: Date | null }>(all: readonly T[]): T[] =>
        all.filter(({ from, to }) => from <= at && (to === null || to > at));
      const set = inForce(settings);
      const everything = set.find((each) => each.collectionId === null && each.accessId === null);
      // The database gives each keeper a setting when it is opened: before that there was nothing to see.
      if (everything === undefined || everything.choice.holdings === null) return [];
      const stay = inForce(stays)[0];
      const collection = set.find((each) => each.collectionId !== null && each.collectionId === stay?.collectionId);
      const animal = set.filter((each) => each.accessId !== null);
      const { lineageShared, holdings } = resolveSharing(
        { ...everything.choice, holdings: everything.choice.holdings },
        collection?.choice ?? null,
        {
          holdings: animal.find((each) => each.accessId === relation.accessId)?.choice.holdings ?? null,
          lineageWithheld: animal.some((each) => each.choice.lineageWithheld),
        },
      );
      const spans = [everything, stay, collection, ...animal].flatMap((each) =>
        each === undefined ? [] : [daysOf(each)],
      );
      return [{ holdings, lineageShared, days: spans.reduce(overlap) }];
    });
}

function daysOf({ from, to }: { readonly from: Date; readonly to: Date | null }): Days {
  const text = (moment: Date): Day => moment.toISOString().slice(0, 10) as Day;
  return { from: text(from), to: to === null ? null : text(to) };
}

/** Whether a period was in force at some time of a day; the day on which it ended counts. */
function touches({ from, to }: Days, on: Day): boolean {
  return from <= on && (to === null || to >= on);
}

function overlap(a: Days, b: Days): Days {
  const to = a.to === null || (b.to !== null && b.to < a.to) ? b.to : a.to;
  return { from: a.from > b.from ? a.from : b.from, to };
}

function sight(way: Way, who: Pick<Sight, 'keeperId' | 'clubId'>, { from, to }: Days): Sight {
  return { way, ...who, since: from, until: to };
}

/** One entry a way and party, over all the days it was seen; in the order of ways. */
function distinct(sights: readonly Sight[]): Sight[] {
  const byParty = new Map<string, Sight>();
  for (const each of sights) {
    const key = `${each.way} ${each.keeperId ?? ''} ${each.clubId ?? ''}`;
    const known = byParty.get(key);
    const since = known === undefined || each.since < known.since ? each.since : known.since;
    const open = each.until === null || known?.until === null;
    const until = open
      ? null
      : known === undefined || (each.until ?? '') > (known.until ?? '')
        ? each.until
        : known.until;
    byParty.set(key, { ...each, since, until });
  }
  return [...byParty.values()].toSorted(
    (a, b) =>
      WAYS.indexOf(a.way) - WAYS.indexOf(b.way) ||
      compare(a.keeperId ?? '', b.keeperId ?? '') ||
      compare(a.clubId ?? '', b.clubId ?? ''),
  );
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
