export { ConfigError, readConfig, type Config, type MailConfig, type S3Config } from './config.js';
export { CONFIG, ConfigModule } from './config.module.js';
