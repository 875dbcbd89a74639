export { AccountStore } from './account.store.js';
export { type Club, type Keeper } from './keeper.js';
export { MembershipModule } from './membership.module.js';
export { OpenAccount, openAccountCommand } from './open-account.js';
export { Viewers } from './viewers.js';
