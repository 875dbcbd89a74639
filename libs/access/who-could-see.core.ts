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
 * moment, not from what it sets now. `since` and `until` bound the days without a break around the day asked about: a setting that
 * was made anew, or an office that went to somebody else, is no break where the same was seen by the same. Of those who had it
 * before the asker or after, on the same day, only that they had it is told; and of what others showed, no day before the asker's
 * time, and no end after it.
 */
export function whoCouldSee(history: SightHistory, on: Day, asker: ReadonlySet<string>): Sight[] {
  const sights: Sight[] = [];
  const time = timeOf(history.relations, asker);
  for (const relation of history.relations) {
    const had = hadIt(relation);
    const within = asker.has(relation.keeperId) || meets(relation, time);
    if (had || within) sights.push(ownSight(relation));
    if (had && within) sights.push(...shownBy(history, relation, time.from));
    if (had && relation.to !== null)
      sights.push({ way: 'had_it', keeperId: relation.keeperId, clubId: null, since: relation.to, until: null });
  }
  return unbroken(sights)
    .filter(({ since, until }) => touches({ from: since, to: until }, on))
    .map((each) => (time.to !== null && each.until !== null && each.until > time.to ? { ...each, until: null } : each));
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

/** What the keeper behind a relation showed to others, from a day on. */
function shownBy(history: SightHistory, relation: RelationPeriod, start: Day): Sight[] {
  const own = overlap(relation, { from: start, to: null });
  const clubs = history.memberships
    .filter((each) => each.keeperId === relation.keeperId)
    .map((each) => ({ clubId: each.clubId, from: each.joinedOn, to: each.leftOn }));
  const counted = history.offices.filter((each) => each.keeperId === relation.keeperId);
  const told = history.threads
    .filter((each) => each.holderKeeperId === relation.keeperId)
    .map((each) => ({ keeperId: each.keeperId, ...daysOf(each) }));
  const seen = sharingOf(history, relation).flatMap(({ holdings, lineageShared, days }) => {
    const within = overlap(own, days);
    const toClubs = (way: Way): Sight[] =>
      clubs.map((club) => sight(way, { keeperId: null, clubId: club.clubId }, overlap(within, club)));
    const lineage = lineageShared ? toClubs('club_lineage') : [];
    if (relation.relation !== 'holder' || holdings === 'nobody') return lineage;
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
  // Two periods that share no day were never in force together.
  return seen.filter(({ since, until }) => until === null || since <= until);
}

type Sharing = { readonly holdings: Audience; readonly lineageShared: boolean; readonly days: Days };

/**
 * How sharing stood over the days of a relation, from one change to the next. What a keeper withholds as holder or as owner it
 * withholds; who sees that it has the animal follows from the stay alone.
 */
function sharingOf(history: SightHistory, relation: RelationPeriod): Sharing[] {
  const relations = history.relations.filter((each) => each.keeperId === relation.keeperId);
  const ids = new Set(relations.map((each) => each.accessId));
  const stays = history.collectionStays.filter((each) => ids.has(each.accessId));
  const settings = history.settings.filter(
    (each) => each.keeperId === relation.keeperId && (each.accessId === null || ids.has(each.accessId)),
  );
  const [start, end] = [startOf(relation.from), endOf(relation.to)];
  const moments = [
    ...[...stays, ...settings].flatMap(({ from, to }) => [from, to]),
    ...relations.flatMap(({ from, to }) => [startOf(from), endOf(to)]),
  ]
    .flatMap((moment) => moment?.getTime() ?? [])
    .filter((time) => time > start.getTime() && (end === null || time < end.getTime()));
  const changes = [...new Set([start.getTime(), ...moments])].toSorted((a, b) => a - b).map((time) => new Date(time));
  return changes.flatMap((at, i) => {
    const ofKeeper = new Set(relations.filter((each) => touches(each, dayAt(at))).map((each) => each.accessId));
    const inForce = <T extends { accessId: string | null; from: Date; to: Date | null }>(all: readonly T[]): T[] =>
      all.filter(
        ({ accessId, from, to }) =>
          (accessId === null || ofKeeper.has(accessId)) && from <= at && (to === null || to > at),
      );
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
    return [{ holdings, lineageShared, days: daysOf({ from: at, to: changes[i + 1] ?? end }) }];
  });
}

function startOf(day: Day): Date {
  return new Date(`${day}T00:00:00Z`);
}

/** The end of a day, which counts with what ended on it. */
function endOf(day: Day | null): Date | null {
  return day === null ? null : startOf(addDays(day, 1));
}

function dayAt(moment: Date): Day {
  return moment.toISOString().slice(0, 10) as Day;
}

function daysOf({ from, to }: { readonly from: Date; readonly to: Date | null }): Days {
  return { from: dayAt(from), to: to === null ? null : dayAt(to) };
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

/** Joins the periods of a way and party between which no day lies; in the order of ways. */
function unbroken(sights: readonly Sight[]): Sight[] {
  const runs = new Map<string, Sight[]>();
  for (const each of sights.toSorted((a, b) => compare(a.since, b.since))) {
    const key = `${each.way} ${each.keeperId ?? ''} ${each.clubId ?? ''}`;
    const known = runs.get(key) ?? [];
    const last = known.at(-1);
    if (last === undefined || (last.until !== null && last.until < each.since)) runs.set(key, [...known, each]);
    else {
      const until =
        last.until === null || each.until === null ? null : last.until > each.until ? last.until : each.until;
      runs.set(key, [...known.slice(0, -1), { ...last, until }]);
    }
  }
  return [...runs.values()]
    .flat()
    .toSorted(
      (a, b) =>
        WAYS.indexOf(a.way) - WAYS.indexOf(b.way) ||
        compare(a.keeperId ?? '', b.keeperId ?? '') ||
        compare(a.clubId ?? '', b.clubId ?? ''),
    );
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
