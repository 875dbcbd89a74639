import 'reflect-metadata';
import { ConfigError, readConfig } from '../../../libs/platform/config/index.js';
import { createApp } from './create-app.js';

/** Starts the API; a problem the operator can mend is one line and exit code 1. */
async function main(): Promise<void> {
  const config = readConfig(process.env);
  const app = await createApp(config);
  // The demo has invented data and well-known passwords: it never listens beyond this machine.
  await app.listen(config.port, config.demo ? '127.0.0.1' : '0.0.0.0');
  // Started by the launcher over an IPC channel: without the launcher there is nobody to stop us.
  process.on('disconnect', () => process.kill(process.pid, 'SIGTERM'));
  process.stdout.write(`api listening on port ${config.port}\n`);
}

main().catch((error: unknown) => {
  const code = (error as { code?: unknown }).code;
  if (error instanceof ConfigError) process.stderr.write(`kithbook api: ${error.message}\n`);
  else if (code === 'EADDRINUSE')
    process.stderr.write(`kithbook api: port ${process.env['PORT'] ?? '3000'} is taken; set PORT to a free one\n`);
  else
    process.stderr.write(`kithbook api: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`);
  process.exit(1);
});
