import { LINE, percent } from './drawing.core.js';
import type { Place, PlaceRole } from './pedigree-places.core.js';

/** What a chart says of an animal; nothing of one that is not shown to the viewer. */
export type ChartAnimal =
  | { readonly shown: false }
  | {
      readonly shown: true;
      readonly name: string | null;
      readonly registerNumber: string;
      readonly sex: 'male' | 'female' | 'unknown';
      readonly birthYear: number | null;
      readonly isLot: boolean;
      readonly declaredFounder: boolean;
    };

/** How much a card says: `lines` at most, its letters `scale` times the usual size. */
export type Detail = { readonly lines: number; readonly scale: number };

/** A line of a place: text at its left, and perhaps a few words at its right that are never cut. */
export type PlaceLine = {
  readonly text: string;
  readonly right: string;
  readonly size: number;
  readonly bold: boolean;
  readonly italic: boolean;
};

/** The text of a place and the frame around it. */
export type PlaceLines = { readonly frame: 'none' | 'thin' | 'dashed'; readonly lines: readonly PlaceLine[] };

const NAME = 10.5;
const SMALL = 9;

/** Height of a place; the same for all cards of a detail, however much there is to say. */
export function placeHeight(place: Place, { lines, scale }: Detail): number {
  if (place.kind !== 'animal') return scale * SMALL * LINE;
  const padding = [0.5, 1.5, 3][lines - 1] ?? 3;
  return scale * (2 * padding + LINE * (NAME + (lines - 1) * SMALL));
}

/** What stands in a place: with three lines name, number and facts, with fewer as much of that as there is room for. */
export function placeLines(
  place: Place,
  animalOf: (animal: number) => ChartAnimal,
  numbers: ReadonlyMap<number, number>,
  { lines, scale }: Detail,
): PlaceLines {
  const small = (text: string, italic = false): PlaceLine => ({
    text,
    right: '',
    size: scale * SMALL,
    bold: false,
    italic,
  });
  if (place.kind === 'unknown') {
    const child = animalOf(place.child);
    const isFounder = place.role === 'parents' && child.shown && child.declaredFounder;
    const text = isFounder ? 'declared founder' : `${place.role} unknown`;
    return { frame: 'none', lines: [small(text, true)] };
  }
  const chance = place.probability < 1 ? percent(place.probability) : '';
  if (place.kind === 'others')
    return { frame: 'none', lines: [small(`${place.count} other possible ${place.role}s, ${chance}`, true)] };

  const animal = animalOf(place.animal);
  const number = numbers.get(place.animal);
  const numbered = number === undefined ? '' : `${number} `;
  const role = roleWords(place.role, place.probability);
  const called = animal.shown ? (animal.name ?? animal.registerNumber) : 'not shown';
  if (place.kind === 'again') {
    const text = `${chance === '' ? `${role} is` : `${place.role}?`} no. ${numbered}${called}`;
    return { frame: 'none', lines: [{ ...small(text, true), right: chance }] };
  }
  const frame = place.probability < 1 ? 'dashed' : 'thin';
  const title = {
    text: `${numbered}${called}`,
    right: chance,
    size: scale * NAME,
    bold: animal.shown,
    italic: !animal.shown,
  };
  if (!animal.shown) {
    const first = { ...title, text: lines === 1 ? `${numbered}${role} not shown` : title.text };
    return { frame, lines: [first, ...(lines === 1 ? [] : [small(role)])] };
  }
  const own = animal.name === null ? [] : [animal.registerNumber];
  if (lines === 1) return { frame, lines: [{ ...title, right: [...own, chance].join(' ').trim() }] };
  const facts = [
    ...(place.role === 'subject' ? [] : [role]),
    ...sexWords(animal, place.role),
    ...(animal.birthYear === null ? [] : [`born ${animal.birthYear}`]),
  ].join(' · ');
  const rest = lines === 2 ? [[...own, facts].join(' · ')] : [...own, facts];
  return { frame, lines: [title, ...rest.map((text) => small(text))] };
}

function roleWords(role: PlaceRole, probability: number): string {
  const word = role === 'only' ? 'only parent' : role;
  return probability < 1 ? `perhaps ${word}` : word;
}

/** The sex, where `sire` or `dam` has not said it. */
function sexWords(animal: Extract<ChartAnimal, { shown: true }>, role: PlaceRole): string[] {
  if (animal.isLot) return ['lot'];
  if (animal.sex === 'unknown') return ['sex unknown'];
  return animal.sex === { sire: 'male', dam: 'female', only: null, subject: null }[role] ? [] : [animal.sex];
}
