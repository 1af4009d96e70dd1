// An independent Modbus TCP server that holds given registers, all of them both
// as holding and as input registers. It says the port it listens on.
const { ServerTCP } = require('modbus-serial');
const net = require('net');

const words = JSON.parse(process.argv[2]); // [register, register, …] from 0
const read = address => {
  if (address >= words.length) { const e = new Error('no such register'); e.modbusErrorCode = 2; throw e; }
  return words[address];
};
const probe = net.createServer().listen(0, '127.0.0.1', () => {
  const port = probe.address().port;
  probe.close(() => {
    const server = new ServerTCP({ getHoldingRegister: read, getInputRegister: read }, { host: '127.0.0.1', port, unitID: 7 });
    server.on('initialized', () => console.log(port));
  });
});
setTimeout(() => process.exit(0), 30000);
