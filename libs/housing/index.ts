/** Enclosures and which animals are in them. Private to the keeper: others learn at most that an environment was controlled. */
export { HousingModule } from './housing.module.js';
export { type Enclosure, HousingReadStore } from './housing.store.js';
export { KnownAnswerType } from './housing.types.js';
export { PlaceAnimals, type PlaceAnimalsCommand } from './place-animals.js';
export { RecordEnclosure, type RecordEnclosureCommand } from './record-enclosure.js';
