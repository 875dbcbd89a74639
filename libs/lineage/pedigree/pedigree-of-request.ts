import DataLoader from 'dataloader';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { type LivePedigree } from './live-pedigree.js';
import { type PedigreeSnapshot } from './pedigree-snapshot.core.js';

const PEDIGREES = Symbol('pedigrees');

/** The pedigree of a taxon as `LivePedigree.of` gives it, asked for once a request: all fields of an answer read the same one. */
export async function pedigreeOfRequest(
  loaders: RequestLoaders,
  pedigrees: LivePedigree,
  taxonId: string,
): Promise<PedigreeSnapshot> {
  const loader = loaders.get<string, PedigreeSnapshot>(
    PEDIGREES,
    () => new DataLoader((taxa) => Promise.all(taxa.map((each) => pedigrees.of(each)))),
  );
  return loader.load(taxonId);
}
