//! The local network: which addresses this computer has in it, and who is of it.

use nix::ifaddrs::getifaddrs;
use nix::net::if_::InterfaceFlags;
use protocol::api::{Code, Refusal};
use std::net::{IpAddr, Ipv4Addr};

/// This computer's addresses in local networks.
///
/// # Errors
/// It has none, or the system does not tell them.
pub(super) fn addresses() -> Result<Vec<IpAddr>, Refusal> {
    let none = |why: String| {
        Refusal::new(Code::BadValue, why).hint(
            "connect this computer to the shop's network; or open the page for this computer alone: `conewright page on`",
        )
    };
    let interfaces = getifaddrs()
        .map_err(|error| none(format!("the system does not tell its addresses: {error}")))?;
    let own = interfaces
        .filter(|interface| interface.flags.contains(InterfaceFlags::IFF_UP))
        .filter_map(|interface| {
            let address = interface.address?;
            Some(Ipv4Addr::from(address.as_sockaddr_in()?.ip()))
        });
    let found: Vec<_> = own
        .filter(|ip| !ip.is_loopback() && is_local(*ip))
        .map(IpAddr::V4)
        .collect();
    if found.is_empty() {
        return Err(none(
            "this computer has no address in a local network".to_owned(),
        ));
    }
    Ok(found)
}

/// Whether an address is of this computer or of a local network: private (RFC 1918) or link-local (RFC 3927).
pub(super) fn is_local(ip: Ipv4Addr) -> bool {
    ip.is_loopback() || ip.is_private() || ip.is_link_local()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn local_networks_end_where_the_standards_say() {
        for (ip, local) in [
            ("127.0.0.1", true),
            ("10.255.255.255", true),
            ("172.15.255.255", false),
            ("172.16.0.0", true),
            ("172.31.255.255", true),
            ("172.32.0.0", false),
            ("192.168.0.20", true),
            ("192.169.0.1", false),
            ("169.254.1.1", true),
            ("203.0.113.7", false),
        ] {
            assert_eq!(is_local(ip.parse().unwrap()), local, "{ip}");
        }
    }
}
