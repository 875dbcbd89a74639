/** Enclosures and which animals are in them. Private to the keeper: others learn at most that an environment was controlled. */
// Loaded for what it does: a stay follows its record when that is merged into another.
import './app/follow-merges.js';

export { CorrectStay, type CorrectStayCommand } from './app/correct-stay.js';
export { housingWarnings, PlaceAnimals, type PlaceAnimalsCommand } from './app/place-animals.js';
export { RecordEnclosure, type RecordEnclosureCommand } from './app/record-enclosure.js';
export { settleAnimals } from './app/settle-animals.js';
export { UpdateEnclosure, type UpdateEnclosureCommand } from './app/update-enclosure.js';
export { type HousingWarning } from './core/placement.core.js';
export { loadEnclosure } from './graphql/housing.loaders.js';
export { toEnclosureType } from './graphql/housing.resolver.js';
export { EnclosureType, KnownAnswerType } from './graphql/housing.types.js';
export { HousingModule } from './housing.module.js';
export { type Enclosure, HousingReadStore } from './store/housing-read.store.js';
export { findOwnEnclosure, lockEnclosure } from './store/housing-write.store.js';
export { readStays, type SharedStay, sharedStays, type StayOnRecord } from './store/shared-stays.store.js';
