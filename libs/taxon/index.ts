/** Species and their lines. */
export { isGrownUp, type Maturity } from './grown-up.core.js';
export { groupRows } from './group-rows.js';
export { APPENDICES, parseTaxonProfile, taxonProfile, type TaxonProfile } from './profile.schema.js';
export { loadLine, loadTaxon } from './taxon.loaders.js';
export { TaxonModule } from './taxon.module.js';
export { findTaxonAndLine, insertTaxon, TaxonStore } from './taxon.store.js';
export { type Line, type Taxon } from './taxon.js';
export { LineType, TaxonType } from './taxon.types.js';
