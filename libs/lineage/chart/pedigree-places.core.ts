import type { Candidates, Pedigree } from '../../genetics/index.js';

/** What an animal is to the one it stands beside. `only` = both of its parents in one: selfing, or development without a sire. */
export type PlaceRole = 'subject' | 'sire' | 'dam' | 'only';

/** One place of a chart. `probability` is below 1 for one of several possible parents. */
export type Place =
  | {
      /** The animal itself; each is drawn once, where it is nearest to the subject. */
      readonly kind: 'animal';
      readonly animal: number;
      readonly role: PlaceRole;
      readonly probability: number;
      /** Sires before dams; empty in the last generation, and for one of several possible parents. */
      readonly parents: Place[];
    }
  | {
      /** An animal that is drawn elsewhere. */
      readonly kind: 'again';
      readonly animal: number;
      readonly role: PlaceRole;
      readonly probability: number;
    }
  /** A parent of whom nothing is recorded, or both. */
  | { readonly kind: 'unknown'; readonly role: 'sire' | 'dam' | 'parents'; readonly child: number }
  /** Possible parents beyond those drawn, with the sum of their probabilities. */
  | { readonly kind: 'others'; readonly role: 'sire' | 'dam'; readonly count: number; readonly probability: number };

type AnimalPlace = Extract<Place, { kind: 'animal' }>;

/** Possible parents drawn of one claim, the likeliest first: four beside the nearest generations, two further away. */
const CANDIDATES_NEAR = 4;
const CANDIDATES_FAR = 2;
const NEAR = 2;

/**
 * The places of a chart of an animal and its ancestors over some generations. An animal with several places is drawn at
 * the nearest one (sire's side first) where it is a certain ancestor, else the nearest at all. Beyond one of several
 * possible parents nothing is drawn: it would be as uncertain, and there would be no end to it.
 */
export function pedigreePlaces(pedigree: Pedigree, subject: number, generations: number): AnimalPlace {
  const root = animalPlace(subject, 'subject', 1);
  const drawn = new Set([subject]);
  const open: (() => void)[] = [];
  let level = [root];
  for (let generation = 1; generation <= generations; generation++) {
    const next: AnimalPlace[] = [];
    const certain = (animal: number, role: PlaceRole): Place => {
      if (drawn.has(animal)) return { kind: 'again', animal, role, probability: 1 };
      drawn.add(animal);
      const place = animalPlace(animal, role, 1);
      next.push(place);
      return place;
    };
    for (const { animal, parents } of level) {
      const [sire, dam] = [pedigree.sire[animal] ?? -1, pedigree.dam[animal] ?? -1];
      const sires = possible(pedigree.sireCandidates, animal);
      const dams = possible(pedigree.damCandidates, animal);
      if (sire >= 0 && sire === dam) {
        parents.push(certain(sire, 'only'));
      } else if (sire < 0 && dam < 0 && sires.length === 0 && dams.length === 0) {
        parents.push({ kind: 'unknown', role: 'parents', child: animal });
      } else {
        for (const [role, parent, candidates] of [
          ['sire', sire, sires],
          ['dam', dam, dams],
        ] as const) {
          if (parent >= 0) parents.push(certain(parent, role));
          else if (candidates.length === 0) parents.push({ kind: 'unknown', role, child: animal });
          else {
            // Kept in its order among the parents, filled in once all certain ancestors have their places.
            const at = parents.length;
            const most = generation <= NEAR ? CANDIDATES_NEAR : CANDIDATES_FAR;
            const shown = candidatePlaces(candidates, role, most);
            parents.push(...shown);
            open.push(() => {
              for (const [k, place] of shown.entries()) {
                if (place.kind !== 'again' || drawn.has(place.animal)) continue;
                drawn.add(place.animal);
                parents[at + k] = animalPlace(place.animal, role, place.probability);
              }
            });
          }
        }
      }
    }
    level = next;
  }
  for (const fill of open) fill();
  return root;
}

/** Every animal with a place of its own, each once. */
export function animalsOf(place: Place): number[] {
  return place.kind === 'animal' ? [place.animal, ...place.parents.flatMap(animalsOf)] : [];
}

/** In how many places each animal stands. */
export function countPlaces(place: Place, counts = new Map<number, number>()): Map<number, number> {
  if (place.kind === 'animal' || place.kind === 'again') counts.set(place.animal, (counts.get(place.animal) ?? 0) + 1);
  if (place.kind === 'animal') for (const parent of place.parents) countPlaces(parent, counts);
  return counts;
}

function animalPlace(animal: number, role: PlaceRole, probability: number): AnimalPlace {
  return { kind: 'animal', animal, role, probability, parents: [] };
}

type Possible = { readonly animal: number; readonly probability: number };

/** The candidates of one parent, the likeliest first. */
function possible(candidates: Candidates | undefined, child: number): Possible[] {
  if (candidates === undefined) return [];
  const found: Possible[] = [];
  for (let k = candidates.start[child] ?? 0; k < (candidates.start[child + 1] ?? 0); k++)
    found.push({ animal: candidates.parent[k] ?? -1, probability: candidates.probability[k] ?? 0 });
  return found.sort((a, b) => b.probability - a.probability || a.animal - b.animal);
}

function candidatePlaces(candidates: readonly Possible[], role: 'sire' | 'dam', most: number): Place[] {
  // One more costs no more room than the line that says that there is one more.
  const shown = candidates.length <= most + 1 ? candidates : candidates.slice(0, most);
  const rest = candidates.slice(shown.length);
  return [
    ...shown.map(({ animal, probability }): Place => ({ kind: 'again', animal, role, probability })),
    ...(rest.length === 0
      ? []
      : [
          {
            kind: 'others' as const,
            role,
            count: rest.length,
            probability: rest.reduce((sum, { probability }) => sum + probability, 0),
          },
        ]),
  ];
}
