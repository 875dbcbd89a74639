import { REGISTER_INTO } from './arguments.js';
import { run } from './run.js';

// A reader that stops early, as `| head` does, is no fault of this command.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
});

const output = {
  stdout: (text: string) => process.stdout.write(text),
  stderr: (text: string) => process.stderr.write(text),
};
const argv = process.argv.slice(2);
const option = `--${REGISTER_INTO}`;
const registers = argv.some((argument) => argument === option || argument.startsWith(`${option}=`));

// Everything that knows a database is loaded only when it is needed: figures are there in a moment.
process.exitCode = registers
  ? await (await import('./register-into.js')).registerInto(argv, output, process.env['DATABASE_URL'])
  : run(argv, output);
