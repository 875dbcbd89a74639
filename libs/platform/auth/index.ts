export { type AccessToken, AccessTokens } from './access-tokens.js';
export { type ActionName, ACTIONS } from './actions.js';
export { AuthModule } from './auth.module.js';
export { authenticate, type Principal } from './authenticate.js';
export { hashPassword, passwordFits } from './passwords.js';
export { viewerOf } from './viewer-of.js';
