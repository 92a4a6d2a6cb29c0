//! Registers over Modbus RTU against an independent implementation: what we ask is what its client asks, and what we take
//! for a value is what its client reads from the same bytes.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use metrology::{Length, Unit};
use protocol::frame::{Frame, Modbus, Registers, Sniffer, Width, WordOrder};
use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};
use tokio_modbus::client::Reader;
use tokio_modbus::client::rtu::attach_slave;
use tokio_modbus::slave::Slave;

/// Asks with the other's client, answers with our frame: the registers that the client reads.
async fn registers(modbus: Modbus, reply: &[u8]) -> Vec<u16> {
    let frame = Frame::from_modbus(modbus).unwrap();
    let (near, mut far) = duplex(512);
    let reply = reply.to_vec();
    let request = frame.request().unwrap();
    let instrument = tokio::spawn(async move {
        let mut asked = vec![0; request.len()];
        far.read_exact(&mut asked).await.unwrap();
        assert_eq!(asked, request, "the request of the other's client");
        far.write_all(&reply).await.unwrap();
        far
    });
    let mut client = attach_slave(near, Slave(modbus.address));
    let count = match modbus.width {
        Width::Bits16 => 1,
        Width::Bits32 => 2,
    };
    let read = match modbus.registers {
        Registers::Holding => client.read_holding_registers(modbus.register, count).await,
        Registers::Input => client.read_input_registers(modbus.register, count).await,
    };
    drop(instrument.await.unwrap());
    read.unwrap().unwrap()
}

#[tokio::test]
async fn an_independent_client_reads_the_same_registers() {
    let mut compared = 0;
    for width in [Width::Bits16, Width::Bits32] {
        for words in [WordOrder::High, WordOrder::Low] {
            for signed in [true, false] {
                for registers_of in [Registers::Holding, Registers::Input] {
                    for count in [
                        0_i64,
                        1,
                        255,
                        256,
                        32_767,
                        -1,
                        -32_768,
                        65_535,
                        65_536,
                        -123_456,
                        1 << 31,
                    ] {
                        let modbus = Modbus {
                            address: 17,
                            registers: registers_of,
                            register: 0x0102,
                            width,
                            words,
                            signed,
                            step: Length::from_pm(500_000),
                        };
                        let frame = Frame::from_modbus(modbus).unwrap();
                        let value = Length::from_pm(count * modbus.step.pm());
                        // What the width and sign cannot hold is refused, and there is nothing to compare.
                        let Some(reply) = frame.encode(value, modbus.step, Unit::Mm) else {
                            continue;
                        };
                        let got = registers(modbus, &reply).await;
                        let bits = match (got.as_slice(), words) {
                            (&[one], _) => u32::from(one),
                            (&[high, low], WordOrder::High) => {
                                u32::from(high) << 16 | u32::from(low)
                            }
                            (&[low, high], WordOrder::Low) => {
                                u32::from(high) << 16 | u32::from(low)
                            }
                            other => panic!("{other:?}"),
                        };
                        let expected = match (width, signed) {
                            (Width::Bits16, true) => i64::from(bits as u16 as i16),
                            (Width::Bits32, true) => i64::from(bits as i32),
                            (_, false) => i64::from(bits),
                        };
                        assert_eq!(expected, count, "{modbus:?}");
                        let mut sniffer = Sniffer::new(frame, Unit::Mm);
                        let mut values = Vec::new();
                        sniffer.push(&reply, &mut |d| values.push(d.value));
                        assert_eq!(values, [value], "{modbus:?}");
                        compared += 1;
                    }
                }
            }
        }
    }
    assert!(compared > 80, "{compared}");
}
