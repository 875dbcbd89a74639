import { type Day, type DaySpan } from '../../kernel/index.js';
import { whenInWords } from './when-words.core.js';

/** Version of the content's form; a stored paper is read for ever. */
export const PAPER_VERSION = 1;

/** One animal as the registry knows it on the day of printing; what a paper may show and nothing else. */
export type PaperAnimal = {
  readonly animalId: string;
  /** In the form for print. */
  readonly registerNumber: string;
  readonly kind: 'individual' | 'lot';
  readonly scientificName: string;
  readonly commonName: string;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly sexMethod: string | null;
  readonly sexConfidence: string | null;
  readonly birthManner: 'hatched' | 'born' | 'metamorphosed' | 'unknown';
  readonly birthEdtf: string | null;
  /** Register numbers of the recorded candidates, `NOT_SHOWN` for one that is not shown to who printed; empty = unknown. */
  readonly sires: readonly string[];
  readonly dams: readonly string[];
  readonly originClass: 'bred' | 'wild' | 'ranched' | 'unknown';
  /** In which role somebody claimed the origin; never a name. */
  readonly originClaimedBy: 'giver' | 'receiver' | 'earlier_keeper' | 'nobody';
  readonly marks: readonly { readonly kind: string; readonly value: string }[];
  readonly lastWeight: { readonly grams: number; readonly on: string | null } | null;
  readonly count: number;
  readonly countEstimated: boolean;
  /** Left out where who printed it is told nothing of it, as on papers from before it was told. */
  readonly bredBy?: readonly PaperBreeder[] | undefined;
};

/** Who bred an animal or eggs, in a role; never a name. */
export type PaperBreeder = {
  readonly who: 'giver' | 'receiver' | 'somebody_else' | 'not_known';
  readonly sure: 'yes' | 'possible';
};

/** Stands for a parent that is recorded but not shown to whoever printed the paper. */
export const NOT_SHOWN = 'recorded, not shown';

/** One egg on a paper. `incubatedFrom`: the days on which its incubation can have begun; null = not recorded. */
export type PaperEgg = {
  readonly number: number;
  readonly topMarked: boolean;
  readonly incubatedFrom: DaySpan | null;
};

/** Eggs of one clutch as the registry knows them on the day of printing. */
export type PaperEggs = {
  /** The first version of the clutch. */
  readonly clutchId: string;
  readonly scientificName: string;
  readonly commonName: string;
  readonly laidEdtf: string | null;
  /** Null = not counted. */
  readonly clutchSize: number | null;
  readonly eggs: readonly PaperEgg[];
  /** Degrees Celsius, the lowest and the highest that is recorded of these eggs. */
  readonly celsius: { readonly lowest: number; readonly highest: number } | null;
  /** As `sires` and `dams` of an animal; of eggs they are candidates by the records, and nobody has claimed more. */
  readonly sires: readonly string[];
  readonly dams: readonly string[];
  readonly bredBy?: readonly PaperBreeder[] | undefined;
};

/** What is stored of a paper. The giver's name is not in it: it is read when the paper is drawn. */
export type PaperContent = {
  readonly version: typeof PAPER_VERSION;
  readonly showsGiver: boolean;
  readonly animals: readonly PaperAnimal[];
  /** Left out where no eggs go along, as on papers from before there were any. */
  readonly eggs?: readonly PaperEggs[] | undefined;
};

/** A labelled line of a paper. */
export type PaperLine = { readonly label: string; readonly text: string };

const BIRTH = { hatched: 'Hatched', born: 'Born', metamorphosed: 'Metamorphosed', unknown: 'Born or hatched' } as const;
const ORIGIN = {
  bred: 'bred in captivity',
  wild: 'taken from the wild',
  ranched: 'ranched (reared from wild eggs or young)',
  unknown: 'unknown',
} as const;
const CLAIMED_BY = {
  giver: 'as claimed by the keeper who gave the animal',
  receiver: 'as claimed by the keeper who received the animal',
  earlier_keeper: 'as claimed by an earlier keeper',
  nobody: 'nobody has claimed an origin',
} as const;

/** The lines a paper prints of one animal, in order. */
export function paperLines(animal: PaperAnimal): PaperLine[] {
  const weight = animal.lastWeight;
  const count = `${animal.countEstimated ? 'about ' : ''}${animal.count}`;
  return [
    { label: 'Register number', text: animal.registerNumber },
    { label: 'Species', text: `${animal.scientificName} (${animal.commonName})` },
    ...(animal.kind === 'lot' ? [{ label: 'Number of animals', text: `${count}, kept as a lot` }] : []),
    { label: 'Sex', text: sexInWords(animal) },
    { label: BIRTH[animal.birthManner], text: whenInWords(animal.birthEdtf) },
    { label: 'Sire', text: parentsInWords(animal.sires) },
    { label: 'Dam', text: parentsInWords(animal.dams) },
    { label: 'Origin', text: originInWords(animal) },
    ...bredByLines(animal.bredBy),
    { label: 'Marks', text: marksInWords(animal) },
    ...(weight === null ? [] : [{ label: 'Last weight', text: `${weight.grams} g, ${whenInWords(weight.on)}` }]),
  ];
}

/** "bred in captivity, as claimed by …": an origin on a paper is always somebody's claim. */
export function originInWords(animal: Pick<PaperAnimal, 'originClass' | 'originClaimedBy'>): string {
  return `${ORIGIN[animal.originClass]}, ${CLAIMED_BY[animal.originClaimedBy]}`;
}

const BRED_BY = {
  giver: 'the giver',
  receiver: 'the receiver',
  somebody_else: 'somebody else',
  not_known: 'somebody not recorded',
} as const;

/** "Bred by": whoever owned the dam at the mating, by the records (common practice, no published source). */
export function bredByLines(breeders: readonly PaperBreeder[] = []): PaperLine[] {
  const named = (sure: PaperBreeder['sure']): string[] => [
    ...new Set(breeders.filter((each) => each.sure === sure).map(({ who }) => BRED_BY[who])),
  ];
  const [certain, possible] = [named('yes').join(' and '), named('possible').join(' or ')];
  if (certain === '' && possible === '') return [];
  const text = [certain, ...(possible === '' ? [] : [`possibly ${possible}`])].filter((part) => part !== '').join('; ');
  return [{ label: 'Bred by', text: `${text}, by the records of who owned the dam` }];
}

function sexInWords(animal: PaperAnimal): string {
  const how = [
    animal.sexMethod === null ? null : `established by ${animal.sexMethod}`,
    animal.sexConfidence === null
      ? null
      : { certain: 'certain', likely: 'likely', guess: 'a guess' }[animal.sexConfidence],
  ].filter((part) => part !== null && part !== undefined);
  return [animal.sex, ...how].join(', ');
}

/** "A or B", of recorded candidates. */
export function parentsInWords(numbers: readonly string[]): string {
  return numbers.length === 0 ? 'unknown' : numbers.join(' or ');
}

function marksInWords(animal: PaperAnimal): string {
  if (animal.marks.length === 0) return 'none recorded';
  return animal.marks.map((mark) => `${mark.kind.replaceAll('_', ' ')} ${mark.value}`).join('; ');
}

/** What a paper leaves out on purpose, as it is printed on it. */
export const PAPER_DOES_NOT_SHOW: readonly string[] = [
  'how to reach the keeper who gave the animal, or where they live',
  'what was paid, and what the parties wrote to each other',
  'health records, treatments and notes',
  'who owned or kept the animal before',
  'whether its origin was lawful: the origin above is a claim that nobody has examined for this paper',
];

/** The sentence every paper and every check page carries. */
export const NO_PROOF = 'This paper is not a proof of origin nor a permit; the licensing authority decides.';

/** Fields whose agreement is reported by the public page, in words. */
type ComparedField = 'species' | 'sex' | 'birth' | 'parents' | 'origin';

/** The part of a record that a paper is compared by. */
export type ComparedRecord = Pick<
  PaperAnimal,
  'scientificName' | 'sex' | 'birthManner' | 'birthEdtf' | 'sires' | 'dams' | 'originClass'
>;

/** Which of the fields a reader relies on differ now from what stood on the paper; empty = unchanged. */
export function changedSince(paper: ComparedRecord, now: ComparedRecord): ComparedField[] {
  const changes: [ComparedField, boolean][] = [
    ['species', paper.scientificName !== now.scientificName],
    ['sex', paper.sex !== now.sex],
    ['birth', paper.birthEdtf !== now.birthEdtf || paper.birthManner !== now.birthManner],
    ['parents', !sameParents(paper.sires, now.sires) || !sameParents(paper.dams, now.dams)],
    ['origin', paper.originClass !== now.originClass],
  ];
  return changes.filter(([, changed]) => changed).map(([field]) => field);
}

/** As many parents as on the paper, and among them all whose number stood on it. */
function sameParents(paper: readonly string[], now: readonly string[]): boolean {
  return paper.length === now.length && paper.every((number) => number === NOT_SHOWN || now.includes(number));
}

/** Year of birth for the public page: the year or years of its span, or null when not known. */
export function birthYear(earliest: Day | null, latest: Day | null): string | null {
  const first = earliest?.slice(0, 4);
  const last = latest?.slice(0, 4);
  if (first === undefined && last === undefined) return null;
  if (first === undefined) return `not after ${last}`;
  if (last === undefined) return `not before ${first}`;
  return first === last ? first : `${first} to ${last}`;
}
