/** Who may read which animal: the policy (pure), the scope every read goes through, and the writes that keep it in step with custody. */
export {
  type Access,
  accessLevel,
  type AccessFact,
  type AccessFacts,
  type AccessLevel,
  type Audience,
  AUDIENCES,
  type FieldsShown,
  fieldsShown,
  type HolderTies,
  resolveSharing,
  type SharingChoice,
  showsHolder,
} from './access-level.core.js';
export { accessScope, findAccess, levelOfRank } from './access-scope.store.js';
export { closeAccess, moveAccess, type Grant, openAccess, openAccessSince, recordPastAccess } from './access.store.js';
export { fromDateColumn, fromDateColumnOrNull, toDateColumn } from './day-column.js';
export {
  mayAskAbout,
  type RelationPeriod,
  type SettingPeriod,
  type Sight,
  type SightHistory,
  type Way,
  WAYS,
  whoCouldSee,
} from './who-could-see.core.js';
