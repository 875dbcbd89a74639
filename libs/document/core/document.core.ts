import { type Day, type Decision, decide, refuse } from '../../kernel/index.js';
import { type PermitForm } from './permit-validity.core.js';

export const DOCUMENT_KINDS = ['licence', 'permit', 'certificate', 'invoice', 'veterinary', 'other'] as const;
export type DocumentKind = (typeof DOCUMENT_KINDS)[number];

/** What a document covers: one stock record, a taxon (a number of it, or any number), or the keeper's whole collection. */
export type Cover =
  | { readonly what: 'animal'; readonly animalId: string }
  | { readonly what: 'taxon'; readonly taxonId: string; readonly quantity: number | null }
  | { readonly what: 'collection' };

/** Days a document is valid, both ends included; null = no beginning or no end is written on it. */
export type Validity = { readonly validFrom: Day | null; readonly validUntil: Day | null };

/** What a holding document says. */
export type DocumentStatement = Validity & {
  readonly kind: DocumentKind;
  readonly permitForm: PermitForm | null;
  readonly number: string;
  readonly authority: string;
  /** ISO 3166-1 alpha-2 or ISO 3166-2. */
  readonly jurisdiction: string;
  readonly covers: readonly Cover[];
};

/**
 * What a viewer is to a document: `own` acts for its keeper; `with_animal` has or owns now an animal it covers by id, so
 * that it came along with the record; `none` does not know it exists.
 */
export type DocumentSight = 'own' | 'with_animal' | 'none';

/** What decides it: the viewer's part in the keeper, and the relations of the viewer's keepers to the animals it covers by id. */
export type SightFacts = {
  readonly actsForKeeper: boolean;
  readonly toCoveredAnimals: readonly {
    readonly relation: 'holder' | 'owner' | 'receiver';
    readonly closed: boolean;
  }[];
};

/**
 * Who sees a document. Deny by default. Clubs, offices, open offers and past holding give nothing: a past holder keeps
 * only the documents that are their own. A document for a taxon or a collection stays with its keeper.
 */
export function documentSight(facts: SightFacts): DocumentSight {
  if (facts.actsForKeeper) return 'own';
  const has = facts.toCoveredAnimals.some(({ relation, closed }) => !closed && relation !== 'receiver');
  return has ? 'with_animal' : 'none';
}

/** Most covers of one document. */
export const MAX_COVERS = 200;
/** Most files of one document. */
export const MAX_FILES = 20;

/** Whether the days and covers of a document fit together. VALIDITY_REVERSED, COLLECTION_ALONE, COVER_TWICE, PERMIT_FORM_MISPLACED. */
export function checkStatement(statement: DocumentStatement): Decision<DocumentStatement> {
  const { validFrom, validUntil, covers, kind, permitForm } = statement;
  if (validFrom !== null && validUntil !== null && validUntil < validFrom)
    return refuse('VALIDITY_REVERSED', 'The document would end before it begins. Check both days.', {
      fields: [
        {
          path: 'input.validUntil',
          message: `It lies before ${validFrom}.`,
          remedy: 'Write the last day on which the document is valid.',
        },
      ],
    });
  if (covers.length > 1 && covers.some(({ what }) => what === 'collection'))
    return refuse('COLLECTION_ALONE', 'A document for the whole collection needs no other covers. Leave them out.');
  const named = covers.map((cover) =>
    cover.what === 'animal' ? cover.animalId : cover.what === 'taxon' ? cover.taxonId : '',
  );
  if (new Set(named).size < named.length)
    return refuse('COVER_TWICE', 'An animal or a taxon is named twice. Name each once.');
  if (permitForm !== null && kind !== 'permit' && kind !== 'certificate')
    return refuse('PERMIT_FORM_MISPLACED', 'Only a permit or a certificate has a permit form. Leave it out.');
  return decide(statement);
}
