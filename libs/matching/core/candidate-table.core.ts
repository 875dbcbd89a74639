/** Days since 1970-01-01; what a day column is in memory. */
export type DayNumber = number;

/** Stands for a day that is not known. */
export const NO_DAY = -0x80000000;

/** The number of an ISO day. */
export function dayNumber(day: string): DayNumber {
  return Date.parse(day) / 86_400_000;
}

/** A living individual as a possible mate for others: what a search asks of it, and who could show it to whom. */
export type CandidateRow = {
  readonly id: string;
  readonly registerNumber: string;
  readonly lineId: string | null;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly bornEarliest: DayNumber | null;
  readonly bornLatest: DayNumber | null;
  /** In an open transfer. */
  readonly promised: boolean;
  /** The keeper who has it; null where it is with somebody else. */
  readonly holder: string | null;
  /** What its holder set for this animal or its collection about who sees that they have it; null = nothing of its own. */
  readonly holdings: Holdings | null;
  /** Its holder withholds its lineage. */
  readonly withheld: boolean;
  /** Keepers who own a share and do not have it. */
  readonly owners: readonly string[];
  /** Those of them who withhold its lineage. */
  readonly withholders: readonly string[];
  /** What the holder says of it as a mate for others; null = nothing. */
  readonly open: boolean | null;
  /** The last day on which that holds; null = no end. */
  readonly openUntil: DayNumber | null;
};

export const HOLDINGS = ['nobody', 'other_party', 'coordinator', 'club'] as const;
export type Holdings = (typeof HOLDINGS)[number];

export const SEXES = ['unknown', 'male', 'female'] as const;

/**
 * The candidates of one taxon, packed by column so that a search runs over 100,000 of them in milliseconds. A place is given
 * up when its animal is no candidate any more, and taken by the next. Lines and keepers are numbered in the order they came.
 */
export class CandidateTable {
  /** Places in use and free ones. */
  size = 0;
  /** Empty text where a place is free. */
  readonly ids: string[] = [];
  readonly numbers: string[] = [];
  /** −1 = of no line. */
  line = new Int32Array(0);
  /** Index in SEXES. */
  sex = new Uint8Array(0);
  bornEarliest = new Int32Array(0);
  bornLatest = new Int32Array(0);
  /** The same as far as the lineage tells it: the year of birth where it is sure, else nothing. */
  yearEarliest = new Int32Array(0);
  yearLatest = new Int32Array(0);
  promised = new Uint8Array(0);
  /** −1 = not with a keeper. */
  holder = new Int32Array(0);
  /** Index in HOLDINGS; −1 = as the holder shows everything. */
  holdings = new Int8Array(0);
  /** 1 = its holder withholds its lineage. */
  withheld = new Uint8Array(0);
  readonly owners: (readonly number[])[] = [];
  /** Owners who share its lineage: the same list as `owners` where all do. */
  readonly sharers: (readonly number[])[] = [];
  /** 1 yes, 0 no, −1 nothing said. */
  open = new Int8Array(0);
  openUntil = new Int32Array(0);
  /** Where the animal stands in the pedigree; −1 = not looked for yet. */
  pedigreeIndex = new Int32Array(0);
  readonly keepers: string[] = [];
  readonly lines: string[] = [];

  private numbering: object | null = null;
  private readonly placeOf = new Map<string, number>();
  private readonly keeperNumbers = new Map<string, number>();
  private readonly lineNumbers = new Map<string, number>();
  private readonly free: number[] = [];

  /** Adds a candidate, or replaces what is known of it. */
  put(row: CandidateRow): void {
    const place = this.placeOf.get(row.id) ?? this.take(row.id);
    this.numbers[place] = row.registerNumber;
    this.line[place] = row.lineId === null ? -1 : numberOf(this.lineNumbers, this.lines, row.lineId);
    this.sex[place] = SEXES.indexOf(row.sex);
    this.bornEarliest[place] = row.bornEarliest ?? NO_DAY;
    this.bornLatest[place] = row.bornLatest ?? NO_DAY;
    const year = yearOf(row);
    this.yearEarliest[place] = year?.earliest ?? NO_DAY;
    this.yearLatest[place] = year?.latest ?? NO_DAY;
    this.promised[place] = row.promised ? 1 : 0;
    this.holder[place] = row.holder === null ? -1 : numberOf(this.keeperNumbers, this.keepers, row.holder);
    this.holdings[place] = row.holdings === null ? -1 : HOLDINGS.indexOf(row.holdings);
    this.withheld[place] = row.withheld ? 1 : 0;
    const owners = row.owners.map((keeper) => numberOf(this.keeperNumbers, this.keepers, keeper));
    this.owners[place] = owners;
    this.sharers[place] =
      row.withholders.length === 0 ? owners : owners.filter((_, i) => !row.withholders.includes(row.owners[i] ?? ''));
    this.open[place] = row.open === null ? -1 : row.open ? 1 : 0;
    this.openUntil[place] = row.openUntil ?? NO_DAY;
  }

  /** Forgets an animal that is no candidate any more. */
  remove(id: string): void {
    const place = this.placeOf.get(id);
    if (place === undefined) return;
    this.placeOf.delete(id);
    this.ids[place] = '';
    this.numbers[place] = '';
    // Nobody sees a free place.
    this.holder[place] = -1;
    this.owners[place] = [];
    this.sharers[place] = [];
    this.free.push(place);
  }

  /** The number of a line, −1 for null, or −2 for one of which no candidate is known. */
  lineNumber(lineId: string | null): number {
    return lineId === null ? -1 : (this.lineNumbers.get(lineId) ?? -2);
  }

  /** The number of a keeper who has or owns a candidate, or has had one. */
  keeperNumber(keeperId: string): number | undefined {
    return this.keeperNumbers.get(keeperId);
  }

  /** The place of an animal, or undefined where it is no candidate. */
  find(id: string): number | undefined {
    return this.placeOf.get(id);
  }

  /** Forgets where animals stand in the pedigree when they are numbered anew. */
  useNumbering(numbering: object): void {
    if (this.numbering === numbering) return;
    this.numbering = numbering;
    this.pedigreeIndex.fill(-1);
  }

  private take(id: string): number {
    const place = this.free.pop() ?? this.size++;
    if (place >= this.line.length) this.grow();
    this.ids[place] = id;
    this.placeOf.set(id, place);
    this.pedigreeIndex[place] = -1;
    return place;
  }

  private grow(): void {
    const length = Math.max(256, Math.ceil(this.line.length * 1.5));
    this.line = longer(this.line, new Int32Array(length));
    this.sex = longer(this.sex, new Uint8Array(length));
    this.bornEarliest = longer(this.bornEarliest, new Int32Array(length));
    this.bornLatest = longer(this.bornLatest, new Int32Array(length));
    this.yearEarliest = longer(this.yearEarliest, new Int32Array(length));
    this.yearLatest = longer(this.yearLatest, new Int32Array(length));
    this.promised = longer(this.promised, new Uint8Array(length));
    this.holder = longer(this.holder, new Int32Array(length));
    this.holdings = longer(this.holdings, new Int8Array(length));
    this.withheld = longer(this.withheld, new Uint8Array(length));
    this.open = longer(this.open, new Int8Array(length));
    this.openUntil = longer(this.openUntil, new Int32Array(length));
    this.pedigreeIndex = longer(this.pedigreeIndex, new Int32Array(length));
  }
}

/** First and last day of the year of a birth; null where the year is not known for sure. */
function yearOf({ bornEarliest, bornLatest }: CandidateRow): { earliest: DayNumber; latest: DayNumber } | null {
  if (bornEarliest === null || bornLatest === null) return null;
  const [year, other] = [bornEarliest, bornLatest].map((number) => new Date(number * 86_400_000).getUTCFullYear());
  if (year === undefined || year !== other) return null;
  return { earliest: Date.UTC(year, 0, 1) / 86_400_000, latest: Date.UTC(year, 11, 31) / 86_400_000 };
}

function longer<T extends Int32Array | Uint8Array | Int8Array>(from: T, to: T): T {
  to.set(from);
  return to;
}

function numberOf(numbers: Map<string, number>, names: string[], name: string): number {
  const known = numbers.get(name);
  if (known !== undefined) return known;
  numbers.set(name, names.length);
  names.push(name);
  return names.length - 1;
}
