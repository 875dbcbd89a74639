export { Authorize, Public } from './authorize.js';
export {
  Connection,
  type ConnectionOf,
  foreignCursor,
  idAfter,
  momentAfter,
  type Page,
  PageArgs,
  PageInfo,
  toConnection,
  toPage,
} from './connection.js';
export { GraphqlPlumbingModule } from './graphql.module.js';
export { parseInput } from './parse-input.js';
export { type Client, CurrentClient, CurrentViewer, Loaders, RequestId, RequestLoaders } from './request-context.js';
export { DayType, toUncertainDay, UncertainDayType } from './scalars.js';
export { UncertainDayInputType, type UncertainDayValue } from './uncertain-day-input.js';
