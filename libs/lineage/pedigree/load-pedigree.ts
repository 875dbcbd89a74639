import { defineWork } from '../../platform/compute/index.js';

/** Reading and computing a whole pedigree takes seconds for a large one: it is done in a thread, from the first row to the last number. */
export const loadPedigreeInThread = defineWork<typeof import('./pedigree-read.store.js').loadPedigree>(
  new URL('./pedigree-read.store.js', import.meta.url),
  'loadPedigree',
);

/** Products over very large pedigrees. */
export const meanKinshipInThread = defineWork<typeof import('./mean-kinship.core.js').meanKinshipOf>(
  new URL('./mean-kinship.core.js', import.meta.url),
  'meanKinshipOf',
);
