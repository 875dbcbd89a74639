import type { RegisteredPedigree } from '../../../libs/exchange/index.js';

/** What a load into the registry did, with its duration. */
export interface Registered extends RegisteredPedigree {
  readonly club: string;
  readonly taxon: string;
  readonly milliseconds: number;
}
