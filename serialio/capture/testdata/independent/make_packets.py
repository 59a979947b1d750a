"""Writes what scapy makes of known characters: frames of a private link type, and a
conversation over TCP, IPv4 in Ethernet with a VLAN, whose segments come in disorder, over
UDP on IPv6 among other traffic."""
import sys
from scapy.layers.inet import ICMP, IP, TCP, UDP
from scapy.layers.inet6 import IPv6
from scapy.layers.l2 import ARP, Dot1Q, Ether
from scapy.utils import PcapWriter, RawPcapWriter, wrpcapng

REQUEST = bytes.fromhex("ffffffffff0280010083")
REPLY = bytes.fromhex("ffffffffff06800107000039" "41c80000" "30")

frames = RawPcapWriter(sys.argv[1] + "/frames.pcap", linktype=147)
frames.write_header(None)
for n, frame in enumerate((REQUEST, REPLY[5:])):
    frames._write_packet(frame, sec=1930000000 + n, usec=250000)
frames.close()

there = Ether() / Dot1Q(vlan=7) / IP(src="192.0.2.1", dst="192.0.2.2") / TCP(sport=4001, dport=4002)
back = Ether() / Dot1Q(vlan=7) / IP(src="192.0.2.2", dst="192.0.2.1") / TCP(sport=4002, dport=4001)


def segment(direction, flags, seq, data=b""):
    packet = direction.copy()
    packet[TCP].flags, packet[TCP].seq = flags, seq
    return packet / data if data else packet


packets = [
    Ether() / ARP(),
    segment(there, "S", 99),
    segment(back, "SA", 499),
    segment(there, "PA", 104, REQUEST[4:]),
    segment(there, "PA", 100, REQUEST[:4]),
    Ether() / IP() / ICMP(),
    segment(back, "PA", 500, REPLY[:6]),
    segment(back, "PA", 500, REPLY[:6]),
    segment(back, "PA", 506, REPLY[6:]),
    Ether() / IPv6(src="2001:db8::1", dst="2001:db8::2") / UDP(sport=4003, dport=4004) / REQUEST[5:],
]
for n, packet in enumerate(packets):
    packet.time = 1930000000 + n / 4
PcapWriter(sys.argv[1] + "/network.pcap").write(packets)
wrpcapng(sys.argv[1] + "/network.pcapng", packets)
